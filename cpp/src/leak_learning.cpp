#include "leak_learning.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

namespace wheelend {

void AirSums::add(const AirSums& s) {
  errors += s.errors, error2 += s.error2;
  for (std::size_t i = 0; i < visits.size(); ++i) {
    visits[i] += s.visits[i], visit2[i] += s.visit2[i];
  }
  for (std::size_t i = 0; i < season.size(); ++i) {
    season[i] += s.season[i];
  }
  for (std::size_t i = 0; i < heat.size(); ++i) {
    heat[i] += s.heat[i];
  }
  all_visits += s.all_visits, warm_visits += s.warm_visits;
  readings += s.readings, warm += s.warm, slips += s.slips;
  low_read += s.low_read, low_written += s.low_written;
  low_left += s.low_left, low_filled += s.low_filled;
  low_days += s.low_days, road_low += s.road_low;
  days += s.days, drops += s.drops;
  unnamed_days += s.unnamed_days, swaps += s.swaps;
  other_days += s.other_days, road_other += s.road_other;
}

void AirSums::add(const AirFound& found, double since, bool same_tire) {
  readings += 1.0, warm += found.warm, slips += found.slip;
  if (!(since > 0.0)) {
    return;
  }
  low_filled += found.fill_visit;
  low_days += found.lowness * since, road_low += found.fill_low;
  other_days += (1.0 - found.lowness) * since, road_other += found.fill_else;
  days += since, drops += found.drop;
  unnamed_days += same_tire ? 0.0 : since, swaps += found.swap;
}

bool loss_seen(const AirState& tire, LossSeen& out) {
  const AirPart sound = tire.sound();
  constexpr double surely_leaks = 0.8;
  if (tire.readings < 3 || tire.leak_share() > surely_leaks) {
    return false;
  }
  const double began = tire.loss_spread * tire.loss_spread;
  const double gained = 1.0 / sound.bb - 1.0 / began;
  if (!(gained > 0.02 / began)) {
    return false;
  }
  out.variance = 1.0 / gained;
  out.loss = out.variance * (sound.b / sound.bb - tire.loss / began);
  out.weight = 1.0 - tire.leak_share();
  return true;
}

void learn(AirModel& model, AirSums& total, const AirSums& epoch, const std::vector<LossSeen>& tires) {
  const AirModel prior = prior_air_model();
  total.add(epoch);
  const auto share = [](double mean, double weight, double yes, double of) {
    return (mean * weight + yes) / (weight + of);
  };
  // What came before counts less and less, and relative to the error that is believed now.
  constexpr double weight = 150.0, forgets = 0.85;
  total.errors -= (1.0 - forgets) * (total.errors - epoch.errors);
  total.error2 -= (1.0 - forgets) * (total.error2 - epoch.error2);
  const double ratio = (total.error2 + weight) / (total.errors + weight);
  total.error2 /= ratio;
  model.reading = std::clamp(model.reading * std::sqrt(ratio), 0.2 * prior.reading, 6.0 * prior.reading);
  for (std::size_t i = 0; i < model.visit.size(); ++i) {
    constexpr double visits = 8.0;
    const double v = share(prior.visit[i] * prior.visit[i], visits, total.visit2[i], total.visits[i]);
    // Never below the prior: the mates know a visit well enough, and what they do not share must not be
    // forced on it.
    model.visit[i] = std::sqrt(std::max(v, prior.visit[i] * prior.visit[i]));
  }
  // Season of the air: least squares with a weak prior.
  constexpr double days = 6.0;
  const std::array<double, 6>& s = total.season;
  Eigen::Matrix3d m;
  m << s[0] + days, s[1], s[2], s[1], s[3] + 0.5 * days, s[4], s[2], s[4], s[5] + 0.5 * days;
  const Eigen::Vector3d y(total.heat[0] + days * prior.season[0], total.heat[1], total.heat[2]);
  const Eigen::Vector3d solved = m.ldlt().solve(y);
  model.season = {solved[0], solved[1], solved[2]};
  model.warm_visits = share(prior.warm_visits, 40.0, total.warm_visits, total.all_visits);
  model.warm_tires = std::max(share(prior.warm_tires, 200.0, total.warm, total.readings), 0.001);
  model.slips = std::max(share(prior.slips, 1000.0, total.slips, total.readings), 0.0005);
  model.written = share(prior.written, 20.0, total.low_written, total.low_read);
  model.fill_visit = std::clamp(share(prior.fill_visit, 20.0, total.low_filled, total.low_left), 0.02, 0.9);
  // A day: prior worth so many days.
  model.fill_low = share(prior.fill_low, 20.0 * 28.0, total.road_low, total.low_days);
  model.fill_else = std::max(share(prior.fill_else, 50.0 * 28.0, total.road_other, total.other_days), 1e-5);
  model.drops = share(prior.drops, 200.0 * 28.0, total.drops, total.days);
  model.swaps = share(prior.swaps, 50.0 * 28.0, total.swaps, total.unnamed_days);
  // Loss of sound tires: one step of the expectation-maximization of a normal random effect.
  double n = 0.0, sum = 0.0, spread = 0.0;
  const double v = model.loss_spread * model.loss_spread;
  for (const LossSeen& t : tires) {
    const double part = v / (v + t.variance);
    const double d = part * (t.loss - model.loss);
    n += t.weight;
    sum += t.weight * (model.loss + d);
    spread += t.weight * (d * d + v * (1.0 - part));
  }
  constexpr double least_spread =
      0.35;  // of the mean: tires are hardly more alike than 1 to 3 psi (formulas 3.1)
  model.loss = (prior.loss * unknown_tires + sum) / (unknown_tires + n);
  const double learned =
      (prior.loss_spread * prior.loss_spread * unknown_tires + spread) / (unknown_tires + n);
  model.loss_spread = std::clamp(std::sqrt(learned), least_spread * model.loss, 1.5 * prior.loss_spread);
}

}  // namespace wheelend
