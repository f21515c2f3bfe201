// The pressures of one unit as visits, and the walk through them. Tires of a unit that are read together
// share what is wrong with the visit: temperature, gauge, a run before it. What they share is taken from each
// tire's mates, so that a leak does not hide itself.
#pragma once

#include <cstdint>
#include <vector>

#include "leak_learning.hpp"

namespace wheelend {

enum class KnownHeat : std::uint8_t { tire, ambient, none };

struct AirReading {
  std::int32_t place = 0;  // of the unit
  double level = 0.0;      // u as read; NaN: not read, or warm without the tire's temperature
  double filled = 0.0;     // u it was set to; NaN: nothing is written
  double target = 0.0;     // u of the target under the air of the place; NaN: not given
  double gas = 0.0;        // ln(T / 293.15 K) that was taken off, of the tire or the air; 0: none known
  double air = 0.0;        // ln(T / 293.15 K) of the air; NaN: not written
  KnownHeat heat = KnownHeat::none;
  bool same_tire = false;   // its number is written, and is that of the reading before
  bool other_tire = false;  // an event or another number: a tire came since the reading before
};

struct AirVisit {
  std::int32_t day = 0;
  std::size_t first = 0, end = 0;  // of the unit's readings
};

struct UnitAir {
  std::vector<AirVisit> visits;  // in the order of time
  std::vector<AirReading> readings;
  std::size_t places = 0;
};

class UnitWalk {
 public:
  explicit UnitWalk(const UnitAir& unit) : tires_(unit.places) {}

  // Goes through one visit, and adds to the sums of the learning unless there are none; calls seen(place,
  // tire, begun_anew) after each tire that was read or changed.
  template <class Seen>
  void visit(const UnitAir& unit, const AirVisit& visit, const AirModel& model, AirSums* sums,
             const Seen& seen) {
    take_in(unit, visit, model, sums);
    for (std::size_t i = visit.first; i < visit.end; ++i) {
      const AirReading& r = unit.readings[i];
      AirState& tire = tires_[static_cast<std::size_t>(r.place)];
      if (tire.begun()) {
        seen(r.place, tire, anew_[i - visit.first] != 0);
      }
    }
  }

  [[nodiscard]] const std::vector<AirState>& tires() const { return tires_; }
  [[nodiscard]] std::vector<AirState>& tires() { return tires_; }

 private:
  void take_in(const UnitAir& unit, const AirVisit& visit, const AirModel& model, AirSums* sums);

  struct Read {
    std::size_t reading = 0;
    double level = 0.0, off = 0.0, variance = 0.0, noise = 0.0, weight = 0.0, days = 0.0;
  };

  // Covariance of what is wrong with the levels and the rates of all tires alike: at first, the temperature
  // at which they were filled, and how far this unit's tires are from the fleet's mean.
  struct Common {
    double uu = 0.0, ub = 0.0, bb = 0.0;
    void begin(const AirModel& model, std::size_t places);
    void pass(double days);
    // Takes in what all showed too much; gives what level and rate are to move by.
    struct Move {
      double u = 0.0, b = 0.0;
    };
    Move observe(double off, double variance);
  };

  std::vector<AirState> tires_;
  std::vector<Read> read_;
  std::vector<double> sorted_;
  std::vector<std::uint8_t> anew_;
  Common common_;
  std::int32_t common_day_ = std::numeric_limits<std::int32_t>::min();
};

// Odds at which an alarm is raised, so that sound tires read as these units were give `false_alarms` a 1000
// tire-months: simulated from the model, with streams of their own for each unit and repeat.
double alarm_odds(const std::vector<UnitAir>& units, std::int32_t until_day, const AirModel& model,
                  const std::vector<LossSeen>& tires, double false_alarms, int threads);

inline constexpr std::int32_t repeat_days = 30;  // an alarm within them of another says nothing new

// Whether an alarm stands at a position. It is raised when the odds pass the threshold, and again when the
// tire was filled since and they are beyond it all the same; it is over when they have fallen well below.
struct AlarmMemory {
  bool standing = false;
  std::int32_t last = std::numeric_limits<std::int32_t>::min() / 2;

  // True where an alarm is raised that says something new.
  bool raises(const AirState& tire, double odds, double threshold, bool other_tire) {
    constexpr double over_below = 2.5, surer = 1.0;
    const std::int32_t day = tire.day;
    standing = standing && !other_tire && odds >= threshold - over_below;
    if (odds <= threshold) {
      return false;
    }
    const bool fresh = day - last > repeat_days;
    if (!standing) {
      standing = true;
      last = day;
      return fresh;
    }
    if (fresh && tire.filled_day >= last && tire.filled_day < day && odds > threshold + surer) {
      last = day;
      return true;
    }
    return false;
  }
};

}  // namespace wheelend
