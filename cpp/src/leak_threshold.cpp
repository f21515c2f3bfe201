// The odds at which an alarm is raised: sound tires are simulated on the fleet's own days of reading.
#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include "leak_unit.hpp"
#include "parallel.hpp"
#include "season.hpp"
#include "split_mix.hpp"
#include "wheelend/pressure.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr std::size_t levels = 64;  // thresholds that are tried together
constexpr double lowest = -4.0, step = 0.25;
constexpr double wanted_months = 60000.0;  // tire-months simulated
constexpr int most_repeats = 400;
constexpr double least_days = 365.25;  // a shorter record is read on as it was
constexpr std::size_t most_units = 200;
// The spread of losses is learned from tires that seem sound, which leaves out those that seem to leak
// because they lose much: they are simulated wider, by as much as the setting needed on simulated fleets
// (tuning seeds of tests/bench/leaks.py).
constexpr double loss_wider = 1.25;
// An alarm says that a leak is more likely than none, however quiet the fleet; who asks for more false alarms
// than these accepts less likely ones by as much.
constexpr double even_odds_up_to = 2.0;  // the usual setting
constexpr double weather = 0.018;        // of ln(air temperature) about the season: 10 degF

class Stream {
 public:
  Stream(std::uint64_t unit, std::uint64_t repeat) : key_(mixed(mixed(unit + 1) ^ (repeat * golden))) {}
  double even() { return (static_cast<double>(mixed(key_ + golden * ++count_) >> 11) + 0.5) * 0x1.0p-53; }
  double normal() {
    const double r = std::sqrt(-2.0 * std::log(even()));
    return r * std::cos(6.283185307179586 * even());
  }

 private:
  std::uint64_t key_, count_ = 0;
};

// The unit's days and places of reading up to a day, read on in the same rhythm for a year at least.
UnitAir plan_of(const UnitAir& unit, std::int32_t until_day, std::int32_t least) {
  UnitAir plan;
  plan.places = unit.places;
  std::size_t visits = 0;
  while (visits < unit.visits.size() && unit.visits[visits].day < until_day) {
    ++visits;
  }
  if (visits == 0) {
    return plan;
  }
  const std::int32_t first = unit.visits[0].day;
  const std::int32_t last = unit.visits[visits - 1].day;
  const std::int32_t turn =
      visits > 1 ? last - first + (last - first) / static_cast<std::int32_t>(visits - 1) : 28;
  for (std::int32_t off = 0; off == 0 || off < least; off += std::max(turn, 1)) {
    for (std::size_t v = 0; v < visits; ++v) {
      AirVisit visit{unit.visits[v].day - first + off, plan.readings.size(), 0};
      for (std::size_t i = unit.visits[v].first; i < unit.visits[v].end; ++i) {
        AirReading r = unit.readings[i];
        r.other_tire = r.other_tire && (v > 0 || off > 0);
        if (!std::isnan(r.level) || r.other_tire) {
          plan.readings.push_back(r);
        }
      }
      visit.end = plan.readings.size();
      if (visit.end > visit.first) {
        plan.visits.push_back(visit);
      }
    }
  }
  return plan;
}

// Losses of sound tires as the fleet's own readings have them: of a tire drawn by how likely it is sound, by
// what is known of its loss. Where little is known that is lognormal with the mean and spread of the fleet.
class Losses {
 public:
  Losses(const AirModel& model, const std::vector<LossSeen>& tires)
      : mean_(model.loss), variance_(model.loss_spread * model.loss_spread), tires_(tires) {
    double sum = unknown_tires;  // of which nothing is known
    for (const LossSeen& t : tires_) {
      until_.push_back(sum += t.weight);
    }
    sum_ = sum;
  }
  double draw(Stream& s) const {
    const double at = s.even() * sum_, normal = s.normal();
    const auto found = std::upper_bound(until_.begin(), until_.end(), at);
    double mean = mean_, variance = variance_;
    const auto i = static_cast<std::size_t>(found - until_.begin());
    if (at >= unknown_tires && i < tires_.size()) {
      const double part = variance_ / (variance_ + tires_[i].variance);
      mean = std::max(mean_ + part * (tires_[i].loss - mean_), 0.1 * mean_);
      variance = variance_ * (1.0 - part);
    }
    const double log_variance = std::log1p(variance / (mean * mean));
    const double loss = mean * std::exp(std::sqrt(log_variance) * normal - 0.5 * log_variance);
    return std::max(mean_ + loss_wider * (loss - mean_), 0.05 * mean_);
  }

 private:
  double mean_, variance_, sum_ = 0.0;
  const std::vector<LossSeen>& tires_;
  std::vector<double> until_;
};

// A tire without a leak, as the model has it.
class SoundTire {
 public:
  SoundTire(const AirModel& model, const Losses& losses, double target)
      : m_(model), losses_(losses), target_(target) {}

  // In use since before the first visit.
  void begin(double usual, std::int32_t day, Stream& s) {
    u_ = target_ - 0.02 + 0.02 * s.normal() - usual;
    loss_ = losses_.draw(s);
    day_ = day;
  }
  // Fitted: in a heated shop or in the yard.
  void fit(double usual, std::int32_t day, Stream& s) {
    u_ = target_ - usual * s.even() + 0.5 * air::fill_spread * s.normal();
    loss_ = losses_.draw(s);
    day_ = day;
  }
  // What it loses until a day, and what happens to it on the way.
  void pass(double usual, std::int32_t day, bool same_tire, Stream& s) {
    const double days = day - day_;
    if (!(days > 0.0)) {
      return;
    }
    day_ = day;
    u_ -= loss_ * days * gauge_share(u_) / gauge_share(target_) - std::sqrt(air::wander * days) * s.normal();
    const bool low = u_ + usual < target_ - air::low_by;
    const double set = target_ - usual + air::fill_spread * s.normal();
    if (happens(low ? m_.fill_low : m_.fill_else, days, s) && set > u_) {
      u_ = set - loss_ * days * s.even();
    }
    if (!same_tire && happens(m_.swaps, days, s)) {
      u_ = target_ - usual - air::begun_below + air::begun_spread * s.normal();
      loss_ = losses_.draw(s);
    }
    if (happens(m_.drops, days, s)) {
      u_ = std::max(u_ - air::least_drop - air::drop_range * s.even(), flat_);
    }
  }
  // A reading of it, and a filling after it. `off`: of all readings of the visit; `warmed`: of the whole
  // unit.
  void read(AirReading& r, double usual, double heat, double off, double warmed, Stream& s) {
    const bool unknown = r.heat == KnownHeat::none;
    r.air = r.heat == KnownHeat::ambient ? heat : nan;
    r.gas = unknown ? 0.0 : heat;
    r.filled = nan;
    r.level = u_ + off + m_.reading * s.normal() + (unknown ? usual : 0.0);
    if (warmed > 0.0) {
      r.level += warmed * (1.0 + 0.2 * s.normal());
    } else if (s.even() < m_.warm_tires) {
      r.level += rise(s);
    }
    if (s.even() < m_.slips) {
      const double to = s.even() < 0.5 ? 1.0 : -1.0;
      r.level += s.even() < 0.5 ? to * air::slip_ten : air::slip_spread * s.normal();
    }
    if (!(r.level + r.gas < target_ - air::low_by)) {
      return;
    }
    const bool written = s.even() < m_.written;
    if (written || s.even() < m_.fill_visit) {
      // Set at the temperature of the day; what is wrong with the visit is wrong with this too.
      u_ = target_ - (unknown ? usual : heat) + air::written_spread * s.normal() - off;
      r.filled = written ? target_ - r.gas : nan;
    }
  }

  // How much too high a warm tire or unit is read.
  static double rise(Stream& s) { return air::warm_rise + 1.33 * air::warm_spread * (2.0 * s.even() - 1.0); }
  [[nodiscard]] double target() const { return target_; }

 private:
  static bool happens(double rate, double days, Stream& s) { return s.even() < 1.0 - std::exp(-rate * days); }

  const AirModel& m_;
  const Losses& losses_;
  double target_, u_ = 0.0, loss_ = 0.0;
  double flat_ = std::log(sea_level_pressure.si());
  std::int32_t day_ = 0;
};

std::vector<SoundTire> tires_of(UnitAir& plan, const AirModel& m, const Losses& losses, Stream& s) {
  const double usual_target = std::log(790e3);  // about 100 psi, for places without a target
  std::vector<double> targets(plan.places, nan);
  for (AirReading& r : plan.readings) {  // one target for a place: the first
    double& t = targets[static_cast<std::size_t>(r.place)];
    t = std::isnan(t) ? (std::isnan(r.target) ? usual_target : r.target) : t;
    r.target = std::isnan(r.target) ? nan : t;
  }
  std::vector<SoundTire> tires;
  for (const double target : targets) {
    tires.emplace_back(m, losses, target);
    tires.back().begin(usual_heat(m, plan.visits[0].day), plan.visits[0].day, s);
  }
  return tires;
}

void simulate(UnitAir& plan, const AirModel& m, const Losses& losses, Stream& s) {
  std::vector<SoundTire> tires = tires_of(plan, m, losses, s);
  for (const AirVisit& v : plan.visits) {
    const double warmed = s.even() < m.warm_visits ? SoundTire::rise(s) : 0.0;
    const double shared = s.normal(), usual = usual_heat(m, v.day), heat = usual + weather * s.normal();
    for (std::size_t i = v.first; i < v.end; ++i) {
      AirReading& r = plan.readings[i];
      SoundTire& tire = tires[static_cast<std::size_t>(r.place)];
      if (r.other_tire) {
        tire.fit(usual, v.day, s);
        r.filled = std::isnan(r.filled) ? nan : tire.target();
        if (std::isnan(r.level)) {
          continue;
        }
      } else {
        tire.pass(usual, v.day, r.same_tire, s);
      }
      tire.read(r, usual, heat, m.visit[static_cast<std::size_t>(r.heat)] * shared, warmed, s);
    }
  }
}

using Counts = std::array<double, levels>;

void count_alarms(const UnitAir& plan, const AirModel& model, Counts& counts) {
  UnitWalk walk(plan);
  std::vector<std::array<AlarmMemory, levels>> memory(plan.places);
  std::vector<std::uint8_t> quiet(plan.places, 1);  // nothing stands at any level
  for (const AirVisit& v : plan.visits) {
    walk.visit(plan, v, model, nullptr, [&](std::int32_t place, const AirState& tire, bool other_tire) {
      const auto p = static_cast<std::size_t>(place);
      const double odds = tire.leak_odds();
      if (odds < lowest && quiet[p] != 0) {
        return;
      }
      bool stands = false;
      for (std::size_t k = 0; k < levels; ++k) {
        AlarmMemory& m = memory[p][k];
        counts[k] += m.raises(tire, odds, lowest + step * static_cast<double>(k), other_tire) ? 1.0 : 0.0;
        stands = stands || m.standing;
      }
      quiet[p] = stands ? 0 : 1;
    });
  }
}

}  // namespace

double alarm_odds(const std::vector<UnitAir>& units, std::int32_t until_day, const AirModel& model,
                  const std::vector<LossSeen>& tires, double false_alarms, int threads) {
  const Losses losses(model, tires);
  const std::size_t n = std::min(units.size(), most_units);
  std::vector<UnitAir> plans;
  double months = 0.0;
  for (std::size_t i = 0; i < n; ++i) {
    plans.push_back(plan_of(units[i * units.size() / n], until_day, static_cast<std::int32_t>(least_days)));
    const UnitAir& p = plans.back();
    if (!p.visits.empty()) {
      months += (p.visits.back().day - p.visits.front().day) * static_cast<double>(p.places) / month_days;
    }
  }
  constexpr double fallback = 3.0;
  if (!(months > 0.0)) {
    return fallback;
  }
  const int repeats = std::clamp(static_cast<int>(wanted_months / months), 1, most_repeats);
  std::vector<Counts> of_unit(n);
  parallel(n, threads, [&](std::size_t first, std::size_t last) {
    for (std::size_t i = first; i < last; ++i) {
      of_unit[i].fill(0.0);
      for (int repeat = 0; repeat < repeats && !plans[i].visits.empty(); ++repeat) {
        Stream s(i, static_cast<std::uint64_t>(repeat));
        UnitAir plan = plans[i];
        simulate(plan, model, losses, s);
        count_alarms(plan, model, of_unit[i]);
      }
    }
  });
  Counts counts{};
  for (const Counts& c : of_unit) {
    std::transform(counts.begin(), counts.end(), c.begin(), counts.begin(), std::plus<>());
  }
  const double wanted = false_alarms / 1000.0 * months * repeats;
  const double floor = std::min(std::log(even_odds_up_to / false_alarms), 0.0);
  // From the highest threshold down to where the count is passed; between two, straight in the logarithm.
  for (std::size_t k = levels; k-- > 0;) {
    if (counts[k] >= wanted) {
      const double at = lowest + step * static_cast<double>(k);
      if (k + 1 == levels) {
        return std::max(at, floor);
      }
      const double here = std::log(counts[k] + 0.5), next = std::log(counts[k + 1] + 0.5);
      const double part = here > next ? (here - std::log(wanted + 0.5)) / (here - next) : 0.0;
      return std::max(at + step * std::clamp(part, 0.0, 1.0), floor);
    }
  }
  return floor;
}

}  // namespace wheelend
