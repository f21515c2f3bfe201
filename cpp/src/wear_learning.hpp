// What a fleet has in common, learned from sums over its units.
#pragma once

#include <vector>

#include "wear_course.hpp"

namespace wheelend::wear_fit {

// Squares of effects with the doubt about each, and how many effects' worth the data say.
struct Moment {
  double squares = 0.0, freedom = 0.0;
  // An effect about its mean, its posterior variance and its prior variance.
  void add(double effect, double variance, double prior) {
    squares += square(effect);
    freedom += std::max(1.0 - variance / prior, 0.0);
  }
  void add(const Moment& other) {
    squares += other.squares;
    freedom += other.freedom;
  }
};

struct Sums {
  Moment unit, axle, one_sided_axle, one_sided_item, severity, item, strength, shoulder, offset;
  double strength_sum = 0.0, shoulder_sum = 0.0;
  double turns = 0.0, axle_years = 0.0, turn_rate_sum = 0.0;
  double turn_rate = 0.0, turn_one_sided = 0.0;     // squares
  double squares = 0.0, rows = 0.0, freedom = 0.0;  // of readings
  double season_cc = 0.0, season_cs = 0.0, season_ss = 0.0, season_c = 0.0, season_s = 0.0;
  std::vector<double> group_sum, group_trust, group_units;
  std::vector<double> reader_sum, reader_weight;

  Sums(std::size_t groups, std::size_t readers)
      : group_sum(groups),
        group_trust(groups),
        group_units(groups),
        reader_sum(readers),
        reader_weight(readers) {}
  void add(const Sums& other);
};

// All that units share, as it is believed now.
struct Common {
  WearSpreads spreads;
  std::vector<WearGroup> groups;
  std::vector<double> group_rate;  // exp of the log rates
  std::vector<double> readers;
  double season_cos = 0.0, season_sin = 0.0;
  std::vector<double> season_at_knot;
  double strength_variance = 0.0, shoulder_variance = 0.0;  // of their means
};

double knot_angle(Index m, const WearFitOptions& options);

// One step of each; the priors count as options.prior_items items.
void learn(Common& common, const Sums& sums, const WearSpreads& prior,
           const std::vector<WearGroup>& prior_groups, const WearFitOptions& options);

void refresh(Common& common, const WearFitOptions& options);

}  // namespace wheelend::wear_fit
