// How far units will run, for tests/bench/use_ahead.py: odometer readings of a fleet on standard input, the
// law of the mean use over some horizons on standard output. Seconds go to standard error.
//
// In: day of asking, units, groups; number of horizons and these in days; the prior km a day of each group;
// by unit its group, number of readings, and day and miles of each. Out: by unit 1 or 0 (has a track), the
// mean km a day of the last year and its error (the simple forecast), and mean and variance of the log of km
// a day by horizon.
#include <chrono>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <iostream>
#include <vector>

#include "wheelend/use.hpp"
#include "wheelend/use_model.hpp"

using namespace wheelend;

int main() {
  std::int32_t as_of = 0;
  std::size_t units = 0, groups = 0, horizons = 0;
  std::cin >> as_of >> units >> groups >> horizons;
  std::vector<double> horizon(horizons);
  for (double& h : horizon) {
    std::cin >> h;
  }
  // As in fleet_wear.cpp.
  UseModel prior{.between_units = 0.06, .drift = 0.015, .drift_days = 180.0, .rest = 0.06, .rest_days = 10.0};
  for (std::size_t g = 0; g < groups; ++g) {
    double km = 0.0;
    std::cin >> km;
    prior.log_km_per_day.push_back(std::log(km));
  }
  std::vector<std::int32_t> group(units), position, day, unit_of(units);
  std::vector<std::int64_t> microsecond;
  std::vector<double> miles;
  for (std::size_t u = 0; u < units; ++u) {
    std::size_t readings = 0;
    std::cin >> group[u] >> readings;
    unit_of[u] = static_cast<std::int32_t>(u);
    for (std::size_t i = 0; i < readings; ++i) {
      std::int32_t d = 0;
      double m = 0.0;
      std::cin >> d >> m;
      position.push_back(static_cast<std::int32_t>(u));
      day.push_back(d);
      microsecond.push_back(std::int64_t{86'400'000'000} * d);
      miles.push_back(m);
    }
  }
  if (!std::cin) {
    std::cerr << "the input ends too soon\n";
    return 2;
  }
  ReadingColumns readings;
  readings.position = position;
  readings.day = day;
  readings.microsecond = microsecond;
  readings.odometer = {.values = miles, .measure = Measure::mile};
  const std::vector<Track> tracks = odometer_tracks(readings, unit_of, units, as_of);

  const auto start = std::chrono::steady_clock::now();
  std::vector<UseBlocks> blocks;
  for (std::size_t u = 0; u < units; ++u) {
    blocks.push_back(use_blocks(tracks[u].day, tracks[u].km, group[u]));
  }
  constexpr double prior_units = 5.0;  // as in fleet_wear.cpp
  const UseModel model = learn_use(blocks, prior, prior_units);
  const auto learned = std::chrono::steady_clock::now();
  for (std::size_t u = 0; u < units; ++u) {
    const bool has = !blocks[u].days.empty();
    const UseForecast forecast(model, blocks[u], as_of);
    const double gap = has ? as_of - blocks[u].end_day.back() : 0.0;
    std::printf("%d %.6g %.6g", has ? 1 : 0, tracks[u].km_per_day, tracks[u].km_per_day_se);
    for (const double h : horizon) {
      const UseAhead a = forecast.between(gap, gap + h);
      std::printf(" %.6g %.6g", a.mean, a.variance);
    }
    std::printf("\n");
  }
  const auto end = std::chrono::steady_clock::now();
  const auto micro = [units](auto from, auto to) {
    return std::chrono::duration<double, std::micro>(to - from).count() / static_cast<double>(units);
  };
  std::fprintf(
      stderr,
      "between %.3f, drift %.3f over %.0f d, rest %.3f over %.0f d, season %.3f; us a unit: learn %.1f, "
      "forecast and print %.1f\n",
      std::sqrt(model.between_units), std::sqrt(model.drift), model.drift_days, std::sqrt(model.rest),
      model.rest_days, std::hypot(model.season_cos, model.season_sin), micro(start, learned),
      micro(learned, end));
}
