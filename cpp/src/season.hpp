// A season of one wave a year on a logarithm, over stretches of time: closed forms that use and severity
// share.
#pragma once

#include <cmath>
#include <numbers>

namespace wheelend {

inline constexpr double year_days = 365.25;           // the mean year
inline constexpr double month_days = year_days / 12;  // the mean month, 30.4375

struct Waves {
  double cos = 1.0, sin = 0.0;
};

// Means of the cosine and sine of `times` the angle of the year, from day to day.
inline Waves mean_waves(double from, double to, double times = 1.0) {
  const double half = times * std::numbers::pi * (to - from) / year_days;
  const double left = half < 1e-6 ? 1.0 : std::sin(half) / half;
  const double angle = times * std::numbers::pi * (from + to) / year_days;
  return {left * std::cos(angle), left * std::sin(angle)};
}

// Log of the mean of exp(season) from day to day, to the second order of its amplitude: the mean of the
// season and half its variance over these days.
inline double log_mean_season(double cos, double sin, double from, double to) {
  if (cos == 0.0 && sin == 0.0) {
    return 0.0;
  }
  const Waves once = mean_waves(from, to), twice = mean_waves(from, to, 2.0);
  const double mean = cos * once.cos + sin * once.sin;
  const double squares =
      (cos * cos * (1.0 + twice.cos) + sin * sin * (1.0 - twice.cos)) / 2.0 + cos * sin * twice.sin;
  return mean + (squares - mean * mean) / 2.0;
}

}  // namespace wheelend
