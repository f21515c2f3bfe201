// Microseconds of first passage per position, and of what a unit's positions share.
#include <chrono>
#include <cmath>
#include <cstdio>
#include <vector>

#include "wheelend/wear_ahead.hpp"

using namespace wheelend;

namespace {

constexpr double full = 16.0, limit = 4.0;  // mm

// A tire of three grooves whose parameters are in doubt together.
ItemState state_at(double depth) {
  constexpr std::size_t n = 9;
  ItemState s{.mean = {depth, std::log(8e-5), -0.5, 0.08, 0.02, 0.03, 0.1, -0.1, 0.05},
              .channels = {0, 1, 2},
              .side = {1.0, 0.0, -1.0},
              .outside = {1.0, 0.0, 1.0}};
  s.covariance.assign(n * n, 0.0);
  const auto set = [&s](std::size_t a, std::size_t b, double value) {
    s.covariance[a * n + b] = s.covariance[b * n + a] = value;
  };
  const std::vector<double> variance{0.04, 0.01, 0.1, 0.0016, 0.0009, 0.004, 0.02, 0.02, 0.02};
  for (std::size_t i = 0; i < n; ++i) {
    set(i, i, variance[i]);
  }
  set(state_depth, state_rate, 0.006);
  set(state_rate, state_strength, -0.012);
  set(state_rate, state_severity, -0.002);
  return s;
}

}  // namespace

int main() {
  constexpr int positions = 50'000, units = 5'000;
  const UseModel model{.log_km_per_day = {std::log(250.0)},
                       .between_units = 0.04,
                       .drift = 0.015,
                       .rest = 0.06,
                       .season_cos = 0.05};
  const UseForecast use(model, {}, 20'000.0);
  const Ahead ahead(use, 0.0, {}, 20'000.0, 0.05, 0.02);
  std::vector<ItemState> states;
  for (int i = 0; i < 50; ++i) {
    states.push_back(state_at(4.0 + 0.2 * i));
  }
  double sum = 0.0;  // printed, so that nothing is left out
  const auto start = std::chrono::steady_clock::now();
  for (int i = 0; i < positions; ++i) {
    sum += passage(states[static_cast<std::size_t>(i) % states.size()], full, limit, ahead, 0.0).depth;
  }
  const auto passed = std::chrono::steady_clock::now();
  for (int i = 0; i < units; ++i) {
    sum += Ahead(use, 0.0, {}, 20'000.0 + i, 0.05, 0.02).km_per_day();
  }
  const auto end = std::chrono::steady_clock::now();
  const auto micro = [](auto from, auto to, int n) {
    return std::chrono::duration<double, std::micro>(to - from).count() / n;
  };
  std::printf("passage %.1f us a position, Ahead %.1f us a unit (%g)\n", micro(start, passed, positions),
              micro(passed, end, units), sum);
}
