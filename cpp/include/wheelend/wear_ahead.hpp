// When the shallowest channel of a worn item reaches its limit: first passage of the fitted curve, with the
// doubt about depth, rate, curve, channels, severity and use joined.
#pragma once

#include <array>
#include <span>
#include <vector>

#include "wheelend/use_model.hpp"
#include "wheelend/wear_fit.hpp"

namespace wheelend {

// What a unit's items share on their way: the law of the distance that will be run by each time, and of its
// severity. Times lie on one grid for all units.
class Ahead {
 public:
  // `gap`: days from the end of the unit's odometer record to the time of asking. A unit by time runs
  // `km_per_day`.
  Ahead(const UseForecast& use, double gap, const WearSpreads& spreads, double now, double season_cos,
        double season_sin);
  Ahead(double km_per_day, const WearSpreads& spreads, double now, double season_cos, double season_sin);

  static const std::vector<double>& days();  // the grid, from one day to ten years
  [[nodiscard]] double log_distance(std::size_t t) const { return log_distance_[t]; }
  [[nodiscard]] double variance(std::size_t t) const { return variance_[t]; }
  [[nodiscard]] double severity_kept(std::size_t t) const { return kept_[t]; }  // of what it is now
  [[nodiscard]] double severity_variance(std::size_t t) const { return severity_variance_[t]; }
  [[nodiscard]] double km_per_day() const { return km_per_day_; }      // over the coming quarter
  [[nodiscard]] double use_variance() const { return use_variance_; }  // of its logarithm
  [[nodiscard]] double gap_variance() const {
    return gap_variance_;
  }  // of the log of what was run since the record

 private:
  void add_severity(const WearSpreads& spreads, bool by_time, double now, double season_cos,
                    double season_sin);
  std::vector<double> log_distance_, variance_, kept_, severity_variance_;
  double km_per_day_ = 0.0, use_variance_ = 0.0, gap_variance_ = 0.0;
};

struct Passage {
  std::array<double, 7> days{};  // at the quantile levels of wear.hpp; infinity beyond the grid
  std::array<double, 7> distance{};
  double depth = 0.0;  // of the shallowest channel now: median
  double rate = 0.0,
         rate_sd = 0.0;  // depth lost per exposure by the shallowest channel now
  double rate_per_day = 0.0, rate_per_day_sd = 0.0;
};

// `exposure_since`: run since the end of the unit's odometer record, about.
Passage passage(const ItemState& state, double full, double limit, const Ahead& ahead, double exposure_since);

}  // namespace wheelend
