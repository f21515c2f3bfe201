#include "leak_unit.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

namespace wheelend {

namespace {

constexpr double common_wander = 0.004 * 0.004 / 30.0;  // of a unit's levels together, a day
constexpr double written_spread = 0.015;  // error of a filling that is written: gauge, rounding, cooling
constexpr double odd_visit = 4.0;         // standard errors beyond which a visit is odd
constexpr double warm_rise = 0.09, warm_spread = 0.045;  // of u, of a unit that has run: 5 to 20 %
constexpr double odd_unlike = 0.30;                      // tires of an odd visit differ by this share of it
constexpr double low_level = 0.03;                       // of u below target as shown

}  // namespace

void AirSums::add(const AirSums& s) {
  errors += s.errors, error2 += s.error2;
  for (std::size_t i = 0; i < visits.size(); ++i) {
    visits[i] += s.visits[i], visit2[i] += s.visit2[i];
  }
  all_visits += s.all_visits, warm_visits += s.warm_visits;
  readings += s.readings, warm += s.warm, slips += s.slips;
  low += s.low, low_filled += s.low_filled, other += s.other, other_filled += s.other_filled;
  low_read += s.low_read, low_written += s.low_written;
  for (std::size_t i = 0; i < season.size(); ++i) {
    season[i] += s.season[i];
  }
  for (std::size_t i = 0; i < heat.size(); ++i) {
    heat[i] += s.heat[i];
  }
}

void UnitWalk::take_in(const UnitAir& unit, const AirVisit& visit, const AirModel& model, AirSums& sums) {
  read_.clear();
  anew_.assign(visit.end - visit.first, 0);
  std::size_t heat = 0;
  const double usual = usual_heat(model, visit.day);
  const auto unheated = [usual](const AirReading& r) { return r.heat == KnownHeat::none ? usual : 0.0; };
  double air = 0.0, airs = 0.0;
  for (std::size_t i = visit.first; i < visit.end; ++i) {
    const AirReading& r = unit.readings[i];
    const auto place = static_cast<std::size_t>(r.place);
    AirState& tire = tires_[place];
    const double said = (std::isnan(r.level) ? r.filled : r.level) - unheated(r);
    if (!std::isnan(r.air)) {
      air += r.air, airs += 1.0;
    }
    if (!tire.begun() || r.other_tire) {
      if (std::isnan(said) && !tire.begun()) {
        continue;
      }
      double target = r.target;
      if (std::isnan(target)) {  // none is given: the first reading stands in
        target = std::isnan(said) ? tire.target : std::isnan(r.filled) ? said : r.filled - unheated(r);
      }
      begin_tire(tire, model, target, std::isnan(r.air) ? usual : r.air, visit.day);
      anew_[i - visit.first] = 1;
    }
    tire.target = std::isnan(r.target) ? tire.target : r.target;
    const double days = visit.day - tire.day;
    predict(tire, model, visit.day);
    if (std::isnan(r.level)) {
      continue;
    }
    heat = std::max(heat, static_cast<std::size_t>(r.heat));
    const double noise = model.reading * std::exp(std::clamp(tire.target - said, -0.3, 1.5));
    Read one;
    one.reading = i;
    one.level = said;
    one.off = said - tire.mean();
    one.variance = tire.variance();
    one.noise = noise * noise;
    one.days = anew_[i - visit.first] != 0 ? 0.0 : days;
    read_.push_back(one);
  }
  if (airs > 0.0) {
    const std::array<double, 3> x = season_terms(visit.day);
    sums.season[0] += 1.0, sums.season[1] += x[1], sums.season[2] += x[2];
    sums.season[3] += x[1] * x[1], sums.season[4] += x[1] * x[2], sums.season[5] += x[2] * x[2];
    for (std::size_t i = 0; i < x.size(); ++i) {
      sums.heat[i] += x[i] * air / airs;
    }
  }
  const double prior = model.visit[heat] * model.visit[heat];
  // All tires of the unit may be off by the same: the visit, or what was believed of their levels before it.
  if (common_day_ != std::numeric_limits<std::int32_t>::min()) {
    common_ += common_wander * (visit.day - common_day_);
  }
  common_day_ = visit.day;
  double shared = 0.0, sum_w = 0.0, sum_wr = 0.0, unlike = 0.0, moved = 0.0;
  const std::size_t n = read_.size();
  // With one or two tires nothing parts the two; each tire's own level then carries the whole doubt.
  double prior_now = n > 2 ? prior + common_ : prior;
  if (n > 1) {
    sorted_.clear();
    double information = 0.0;
    for (const Read& r : read_) {
      sorted_.push_back(r.off);
      information += 1.0 / (r.variance + r.noise);
    }
    std::sort(sorted_.begin(), sorted_.end());
    shared = 0.5 * (sorted_[(n - 1) / 2] + sorted_[n / 2]);
    const double cold_s = prior_now + 1.6 / information, warm_s = cold_s + warm_spread * warm_spread;
    const double dw = shared - warm_rise;
    const double as_warm = model.warm_visits / std::sqrt(warm_s) * std::exp(-0.5 * dw * dw / warm_s);
    const double as_cold =
        (1.0 - model.warm_visits) / std::sqrt(cold_s) * std::exp(-0.5 * shared * shared / cold_s);
    const double warm = n > 2 ? as_warm / (as_warm + as_cold + 1e-300) : 0.0;
    const bool odd = n > 2 && (warm > 0.5 || shared * shared > odd_visit * odd_visit * cold_s);
    if (odd) {
      prior_now = std::max(prior_now, shared * shared);
      unlike = odd_unlike * odd_unlike * shared * shared;
    }
    shared = n == 2 ? 0.0 : shared;
    for (int round = 0; round < 4; ++round) {
      sum_w = sum_wr = 0.0;
      for (Read& r : read_) {
        const double s = r.variance + r.noise + unlike, d = r.off - shared;
        r.weight = 1.0 / (s * (1.0 + d * d / (4.0 * s)));
        sum_w += r.weight, sum_wr += r.weight * r.off;
      }
      shared = sum_wr / (sum_w + 1.0 / prior_now);
    }
    if (n > 2) {
      const double free = sum_wr / sum_w;  // without the prior
      sums.all_visits += 1.0;
      sums.warm_visits += warm;
      if (common_ < prior && shared * shared <= odd_visit * odd_visit * cold_s) {
        sums.visits[heat] += 1.0 - warm;
        sums.visit2[heat] += (1.0 - warm) * (free * free - 1.0 / sum_w - common_);
      }
      const double gain = common_ / (prior_now + 1.0 / sum_w);
      moved = gain * free;
      common_ *= 1.0 - gain;
      common_ += odd ? 0.2 * shared * shared : 0.0;
      common_ = std::min(common_, 0.1 * 0.1);
    }
  }
  for (const Read& r : read_) {
    const AirReading& reading = unit.readings[r.reading];
    AirState& tire = tires_[static_cast<std::size_t>(reading.place)];
    shift(tire, moved);
    // What the others of the visit say is wrong with it.
    const double rest_w = std::max(sum_w - r.weight, 0.0) + 1.0 / prior_now;
    const double of_others = n > 1 ? (sum_wr - r.weight * r.off) / rest_w : 0.0;
    const double level = r.level - of_others + moved;
    const bool was_low = tire.mean() + tire.heat < tire.target - low_level;
    const AirFound found = update(tire, model, level, r.noise + unlike + 1.0 / rest_w, r.days);
    if (tire.readings > 2) {
      sums.errors += found.ordinary, sums.error2 += found.error2;
    }
    sums.readings += 1.0, sums.warm += found.warm, sums.slips += found.slip;
    if (r.days > 0.0) {
      (was_low ? sums.low : sums.other) += 1.0;
      (was_low ? sums.low_filled : sums.other_filled) += found.fill;
    }
    tire.heat = std::isnan(reading.air) ? usual : reading.air;
    if (tire.mean() + tire.heat < tire.target - low_level) {
      sums.low_read += 1.0;
      sums.low_written += std::isnan(reading.filled) ? 0.0 : 1.0;
    }
  }
  for (std::size_t i = visit.first; i < visit.end; ++i) {
    const AirReading& r = unit.readings[i];
    AirState& tire = tires_[static_cast<std::size_t>(r.place)];
    if (std::isnan(r.filled) || !tire.begun()) {
      continue;
    }
    // The same day's temperature and air: what was wrong with the reading is wrong with this too.
    const double doubt = n > 1 ? 1.0 / (sum_w + 1.0 / prior_now) : prior_now;
    fill(tire, model, r.filled - unheated(r) - shared + moved,
         written_spread * written_spread + doubt + unlike);
  }
}

bool loss_seen(const AirState& tire, LossSeen& out) {
  const AirPart* sound = tire.sound();
  if (sound == nullptr || tire.readings < 3 || tire.leak_share() > 0.2) {
    return false;
  }
  const double gained = 1.0 / sound->bb - 1.0 / tire.loss_variance;
  if (!(gained > 0.02 / tire.loss_variance)) {
    return false;
  }
  out.variance = 1.0 / gained;
  out.loss = out.variance * (sound->b / sound->bb - tire.loss / tire.loss_variance);
  return true;
}

void learn(AirModel& model, AirSums& total, const AirSums& epoch, const std::vector<LossSeen>& tires) {
  const AirModel prior = prior_air_model();
  total.add(epoch);
  const auto share = [](double mean, double weight, double yes, double of) {
    return (mean * weight + yes) / (weight + of);
  };
  constexpr double weight = 150.0;
  const double ratio = (epoch.error2 + weight) / (epoch.errors + weight);
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
  model.fill_low = std::clamp(share(prior.fill_low, 20.0, total.low_filled, total.low), 0.02, 0.6);
  model.fill_else = std::clamp(share(prior.fill_else, 50.0, total.other_filled, total.other), 0.005, 0.2);
  model.written_low = share(prior.written_low, 20.0, total.low_written, total.low_read);
  // Loss of sound tires: one step of the expectation-maximization of a normal random effect.
  double sum = 0.0, spread = 0.0;
  const double v = model.loss_spread * model.loss_spread;
  for (const LossSeen& t : tires) {
    const double part = v / (v + t.variance);
    const double mean = model.loss + part * (t.loss - model.loss);
    sum += mean;
    const double d = mean - model.loss;
    spread += d * d + v * (1.0 - part);
  }
  const auto n = static_cast<double>(tires.size());
  constexpr double few = 15.0;
  model.loss = (prior.loss * few + sum) / (few + n);
  const double learned = (prior.loss_spread * prior.loss_spread * few + spread) / (few + n);
  model.loss_spread = std::clamp(std::sqrt(learned), 0.15 * model.loss, 1.5 * prior.loss_spread);
}

}  // namespace wheelend
