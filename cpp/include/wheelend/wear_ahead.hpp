// When the shallowest channel of a worn item reaches its limit: first passage of the fitted curve, with the
// doubt about depth, rate, curve, channels, severity and use joined.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include "wheelend/use_model.hpp"
#include "wheelend/wear_fit.hpp"

namespace wheelend {

// What a unit's items share on their way: the law of the distance that will be run by each time, and of its
// severity. Times lie on one grid for all units.
class Ahead {
 public:
  // A unit by its odometer. `gap`: days from the end of its record to the time of asking, which is the day
  // `now`; the season is that of the log severity.
  Ahead(const UseForecast& use, double gap, const WearSpreads& spreads, double now, double season_cos,
        double season_sin);
  // A unit by time: its exposure is that of the middle unit of its group (`UseModel::middle_distance`), its
  // own use is part of its rate, and what drifts of it is part of its severity.
  Ahead(const UseModel& use, std::int32_t group, const WearSpreads& spreads, double now, double season_cos,
        double season_sin);

  // At a time: log of the distance run and log of the same weighted by severity, both middle values; by what
  // the present log severity counts in the latter; variances of the log distance and of the log mean severity
  // (the latter given the present one).
  struct At {
    double distance = 0.0, exposure = 0.0, kept = 0.0, variance = 0.0, severity_variance = 0.0;
  };
  static const std::vector<double>& days();  // the grid, from one day to ten years
  [[nodiscard]] const At& at(std::size_t t) const { return at_[t]; }
  [[nodiscard]] At when(double log_days) const;                        // anywhere up to the end of the grid
  [[nodiscard]] double km_per_day() const { return km_per_day_; }      // over the coming quarter
  [[nodiscard]] double use_variance() const { return use_variance_; }  // of its logarithm
  // Of the log of what was run since the record.
  [[nodiscard]] double gap_variance() const { return gap_variance_; }
  [[nodiscard]] bool by_time() const { return by_time_; }
  // Axles that will go out of line: see WearSpreads.
  struct Turns {
    double per_day = 0.0, rate_mean = 0.0, rate = 0.0, one_sided = 0.0;
  };
  [[nodiscard]] const Turns& turns() const { return turns_; }

 private:
  // A part of the severity: a path of one variance and relaxation, known now as a mean over `known_over`
  // days.
  struct Part {
    double variance, relaxation, known_over = 0.0;
    bool of_logarithm = true;
  };
  void add_severity(std::span<const Part> parts, double now_variance, double now, double season_cos,
                    double season_sin);
  std::vector<At> at_;
  double km_per_day_ = 0.0, use_variance_ = 0.0, gap_variance_ = 0.0;
  bool by_time_ = false;
  Turns turns_;
};

struct Passage {
  std::array<double, 7> days{};      // at the quantile levels of wear.hpp; infinity beyond the grid
  std::array<double, 7> distance{};  // the same; NaN for units by time
  double depth = 0.0;                // of the shallowest channel now: median
  double rate = 0.0,
         rate_sd = 0.0;  // depth lost per exposure by the shallowest channel now
  double rate_per_day = 0.0, rate_per_day_sd = 0.0;
  bool read_beyond = false;  // the last reading lies beyond the limit
};

// What an item needs until its shallowest channel is at the limit, as equally likely cases of all but what is
// normal in the log rate.
inline constexpr std::size_t wear_cases = 64;
struct WearCases {
  std::array<double, wear_cases> exposure{};  // negative: so much ago
  std::array<double, wear_cases> rate{};      // depth that this channel loses per exposure there
  double spread = 0.0;                        // of the log rate, given a case
};
WearCases wear_cases_of(const ItemState& state, double full, double limit, const Ahead& ahead,
                        double exposure_since);

// A last reading beyond the limit that the others do not bear out keeps the odds that it is right
// (`ItemState::last_right`), and then the day is now. `exposure_since`: run since the end of the unit's
// odometer record, about.
Passage passage(const ItemState& state, double full, double limit, const Ahead& ahead, double exposure_since);

// The same where it is not known which of several equally likely states the item is in: the mixture of their
// laws, and the means of their depths and rates. `ahead` is common to all.
struct StateAndFull {
  const ItemState* state = nullptr;
  double full = 1.0;
};
Passage passage(std::span<const StateAndFull> states, double limit, const Ahead& ahead,
                double exposure_since);

}  // namespace wheelend
