#include "wear_learning.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "season.hpp"

namespace wheelend::wear_fit {

namespace {

// A year and a half: below it a season cannot be told from a drift.
constexpr double season_from_days = 540.0;

void add_all(std::vector<double>& to, const std::vector<double>& from) {
  for (std::size_t k = 0; k < to.size(); ++k) {
    to[k] += from[k];
  }
}

// MacKay's fixed point (Neural Computation 4(3), 1992): squares over the effects' worth that the data say.
// It stays at the prior where they say nothing, and gets to a small spread in far fewer passes than EM.
double spread_of(const Moment& m, double prior, double prior_items) {
  return std::sqrt((prior_items * square(prior) + m.squares) / (prior_items + m.freedom));
}

// Best linear prediction of the groups' log rates (Searle, Casella, McCulloch 1992, 7.2): groups covary as
// far as they share traits.
void learn_groups(Common& common, const Sums& sums, const std::vector<WearGroup>& prior_groups,
                  const WearFitOptions& options) {
  const double spread = square(common.spreads.unit) + square(common.spreads.axle) / 2.0;
  std::vector<Index> seen;
  for (std::size_t g = 0; g < common.groups.size(); ++g) {
    if (sums.group_units[g] > 0.0 && sums.group_trust[g] > 0.0) {
      seen.push_back(static_cast<Index>(g));
    }
  }
  const auto covariance = [&](std::size_t a, std::size_t b) {
    double sum = a == b ? square(options.prior_groups) : 0.0;
    for (std::size_t t = 0; t < WearGroup::trait_count; ++t) {
      sum += prior_groups[a].traits[t] == prior_groups[b].traits[t] ? square(options.prior_traits[t]) : 0.0;
    }
    return sum;
  };
  const auto n = static_cast<Index>(seen.size());
  Matrix among(n, n);
  Vector beyond(n);
  for (Index i = 0; i < n; ++i) {
    const auto g = static_cast<std::size_t>(seen[static_cast<std::size_t>(i)]);
    for (Index j = 0; j < n; ++j) {
      among(i, j) = covariance(g, static_cast<std::size_t>(seen[static_cast<std::size_t>(j)]));
    }
    const double weight = std::min(sums.group_units[g], sums.group_trust[g]) / spread;
    among(i, i) += 1.0 / weight;
    const double says = common.groups[g].log_rate + sums.group_sum[g] / std::max(sums.group_trust[g], 0.5);
    beyond[i] = says - prior_groups[g].log_rate;
  }
  const Eigen::LLT<Matrix> factor(among);
  const Vector solved = factor.solve(beyond);
  for (std::size_t g = 0; g < common.groups.size(); ++g) {
    Vector with(n);
    for (Index i = 0; i < n; ++i) {
      with[i] = covariance(g, static_cast<std::size_t>(seen[static_cast<std::size_t>(i)]));
    }
    common.groups[g].log_rate = prior_groups[g].log_rate + with.dot(solved);
    common.groups[g].variance = std::max(covariance(g, g) - with.dot(factor.solve(with)), 1e-6);
  }
}

void learn_readers(Common& common, const Sums& sums) {
  const double ratio = square(common.spreads.reading / common.spreads.reader);
  double total = 0.0, weights = 0.0;
  for (std::size_t r = 0; r < common.readers.size(); ++r) {
    common.readers[r] = sums.reader_sum[r] / (sums.reader_weight[r] + ratio);
    total += common.readers[r] * sums.reader_weight[r];
    weights += sums.reader_weight[r];
  }
  for (double& reader : common.readers) {  // what all readers share cannot be told from the tires
    reader -= weights > 0.0 ? total / weights : 0.0;
  }
}

void learn_season(Common& common, const Sums& sums, const WearFitOptions& options) {
  if (static_cast<double>(common.season_at_knot.size()) * options.knot_days < season_from_days) {
    return;
  }
  const double ridge = 5.0;  // knots that the prior of no season is worth
  const double cc = sums.season_cc + ridge, ss = sums.season_ss + ridge, cs = sums.season_cs;
  const double det = cc * ss - cs * cs;
  common.season_cos += (ss * sums.season_c - cs * sums.season_s) / det;
  common.season_sin += (cc * sums.season_s - cs * sums.season_c) / det;
}

}  // namespace

void Sums::add(const Sums& o) {
  unit.add(o.unit);
  axle.add(o.axle);
  one_sided_axle.add(o.one_sided_axle);
  one_sided_item.add(o.one_sided_item);
  severity.add(o.severity);
  item.add(o.item);
  strength.add(o.strength);
  shoulder.add(o.shoulder);
  offset.add(o.offset);
  strength_sum += o.strength_sum;
  shoulder_sum += o.shoulder_sum;
  turns += o.turns;
  axle_years += o.axle_years;
  turn_rate_sum += o.turn_rate_sum;
  turn_rate += o.turn_rate;
  turn_one_sided += o.turn_one_sided;
  squares += o.squares;
  rows += o.rows;
  freedom += o.freedom;
  season_cc += o.season_cc;
  season_cs += o.season_cs;
  season_ss += o.season_ss;
  season_c += o.season_c;
  season_s += o.season_s;
  add_all(group_sum, o.group_sum);
  add_all(group_trust, o.group_trust);
  add_all(group_units, o.group_units);
  add_all(reader_sum, o.reader_sum);
  add_all(reader_weight, o.reader_weight);
}

double knot_angle(Index m, const WearFitOptions& options) {
  const double day = options.first_day + (static_cast<double>(m) + 0.5) * options.knot_days;
  return 2.0 * std::numbers::pi * day / year_days;
}

void learn(Common& common, const Sums& sums, const WearSpreads& prior,
           const std::vector<WearGroup>& prior_groups, const WearFitOptions& options) {
  WearSpreads& s = common.spreads;
  const double n0 = options.prior_items;
  // The means of strength and shoulder first; squares are then about them.
  const double strength_weight = sums.strength.freedom + n0 / 4.0;
  const double shoulder_weight = sums.shoulder.freedom + n0 / 4.0;
  const double strength_step = std::clamp(sums.strength_sum / strength_weight, -0.5, 0.5);
  const double shoulder_step = sums.shoulder_sum / shoulder_weight;
  Moment strength = sums.strength, shoulder = sums.shoulder;
  strength.squares = std::max(strength.squares - strength_step * sums.strength_sum, 0.0);
  shoulder.squares = std::max(shoulder.squares - shoulder_step * sums.shoulder_sum, 0.0);
  common.strength_variance = square(s.strength) / strength_weight;
  common.shoulder_variance = square(s.shoulder) / shoulder_weight;
  s.strength_mean += strength_step;
  s.shoulder_mean += shoulder_step;
  s.strength = spread_of(strength, prior.strength, n0);
  s.shoulder = spread_of(shoulder, prior.shoulder, n0);
  s.unit = spread_of(sums.unit, prior.unit, n0);
  s.axle = spread_of(sums.axle, prior.axle, n0);
  s.item = spread_of(sums.item, prior.item, n0);
  s.severity = spread_of(sums.severity, prior.severity, n0);
  s.one_sided_axle = spread_of(sums.one_sided_axle, prior.one_sided_axle, n0);
  s.one_sided_item = spread_of(sums.one_sided_item, prior.one_sided_item, n0);
  s.offset = spread_of(sums.offset, prior.offset, n0);
  const double turns0 = n0 / 4.0;
  const double gained = sums.turn_rate_sum / (turns0 + sums.turns);
  const double rate_squares = std::max(sums.turn_rate - gained * sums.turn_rate_sum, 0.0);
  s.turn_rate_mean += gained;
  s.turn_rate = std::sqrt((turns0 * square(prior.turn_rate) + rate_squares) / (turns0 + sums.turns));
  s.turn_one_sided =
      std::sqrt((turns0 * square(prior.turn_one_sided) + sums.turn_one_sided) / (turns0 + sums.turns));
  constexpr double prior_turns = 0.5;  // that the prior frequency rests on
  s.turns_per_year = (prior_turns + sums.turns) / (prior_turns / prior.turns_per_year + sums.axle_years);
  const double freedom = std::max(sums.rows - sums.freedom, 1.0);
  s.reading = std::max(std::sqrt((n0 * square(prior.reading) + sums.squares) / (n0 + freedom)),
                       options.reading_floor);
  learn_groups(common, sums, prior_groups, options);
  learn_readers(common, sums);
  learn_season(common, sums, options);
  refresh(common, options);
}

void refresh(Common& common, const WearFitOptions& options) {
  common.group_rate.clear();
  for (const WearGroup& g : common.groups) {
    common.group_rate.push_back(std::exp(g.log_rate));
  }
  for (std::size_t m = 0; m < common.season_at_knot.size(); ++m) {
    const double angle = knot_angle(static_cast<Index>(m), options);
    common.season_at_knot[m] = common.season_cos * std::cos(angle) + common.season_sin * std::sin(angle);
  }
}

}  // namespace wheelend::wear_fit
