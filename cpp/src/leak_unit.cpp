#include "leak_unit.hpp"

#include <algorithm>
#include <cmath>

namespace wheelend {

namespace {

// Of what is wrong with a unit's tires alike; choices.
constexpr double common_level = 0.04;  // at first: the temperature at which they were filled
constexpr double common_rate = 0.3;    // of the mean loss, beside what chance makes of so many
constexpr double common_wander = 0.001 * 0.001 / 30.0;  // of the level, a day
constexpr double odd_visit = 4.0;                       // standard errors beyond which a visit is odd
constexpr double odd_unlike = 0.30;                     // tires of an odd visit differ by this share of it

}  // namespace

void UnitWalk::Common::begin(const AirModel& model, std::size_t places) {
  const double fleet = common_rate * model.loss;
  uu = common_level * common_level, ub = 0.0;
  bb = model.loss_spread * model.loss_spread / static_cast<double>(places) + fleet * fleet;
}

void UnitWalk::Common::pass(double days) {
  uu += days * (days * bb - 2.0 * ub) + common_wander * days;
  ub -= days * bb;
}

UnitWalk::Common::Move UnitWalk::Common::observe(double off, double variance) {
  const double s = 1.0 / (uu + variance), ku = uu * s, kb = ub * s;
  bb -= kb * ub;
  ub -= ku * ub;
  uu -= ku * uu;
  return {ku * off, kb * off};
}

void UnitWalk::take_in(const UnitAir& unit, const AirVisit& visit, const AirModel& model, AirSums* sums) {
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
    set_target(tire, std::isnan(r.target) ? tire.target : r.target);
    const double days = visit.day - tire.known_day;
    predict(tire, visit.day);
    if (std::isnan(r.level)) {
      continue;
    }
    heat = std::max(heat, static_cast<std::size_t>(r.heat));
    const double noise = model.reading * std::exp(std::clamp(tire.target - said, -0.3, 1.5));
    Read one;
    one.reading = i;
    one.level = said;
    one.off = said - tire.mean;
    one.variance = tire.variance();
    one.noise = noise * noise;
    one.days = anew_[i - visit.first] != 0 ? 0.0 : days;
    read_.push_back(one);
  }
  if (sums != nullptr && airs > 0.0) {
    const std::array<double, 3> x = season_terms(visit.day);
    sums->season[0] += 1.0, sums->season[1] += x[1], sums->season[2] += x[2];
    sums->season[3] += x[1] * x[1], sums->season[4] += x[1] * x[2], sums->season[5] += x[2] * x[2];
    for (std::size_t i = 0; i < x.size(); ++i) {
      sums->heat[i] += x[i] * air / airs;
    }
  }
  const double prior = model.visit[heat] * model.visit[heat];
  // All tires of the unit may be off by the same: the visit, or what was believed of their levels before it.
  if (common_day_ != std::numeric_limits<std::int32_t>::min()) {
    common_.pass(visit.day - common_day_);
  } else {
    common_.begin(model, tires_.size());
  }
  common_day_ = visit.day;
  double shared = 0.0, sum_w = 0.0, sum_wr = 0.0, unlike = 0.0;
  Common::Move moved;
  const std::size_t n = read_.size();
  // With one or two tires nothing parts the two; each tire's own level then carries the whole doubt.
  double prior_now = n > 2 ? prior + common_.uu : prior;
  if (n > 1) {
    sorted_.clear();
    double information = 0.0;
    for (const Read& r : read_) {
      sorted_.push_back(r.off);
      information += 1.0 / (r.variance + r.noise);
    }
    std::sort(sorted_.begin(), sorted_.end());
    shared = 0.5 * (sorted_[(n - 1) / 2] + sorted_[n / 2]);
    const double cold_s = prior_now + 1.6 / information,
                 warm_s = cold_s + air::warm_spread * air::warm_spread;
    const double dw = shared - air::warm_rise;
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
      if (sums != nullptr) {
        sums->all_visits += 1.0;
        sums->warm_visits += warm;
      }
      if (sums != nullptr && common_.uu < prior && shared * shared <= odd_visit * odd_visit * cold_s) {
        sums->visits[heat] += 1.0 - warm;
        sums->visit2[heat] += (1.0 - warm) * (free * free - 1.0 / sum_w - common_.uu);
      }
      moved = common_.observe(free, prior_now - common_.uu + 1.0 / sum_w);
      common_.uu = std::min(common_.uu + (odd ? 0.2 * shared * shared : 0.0), 0.1 * 0.1);
    }
  }
  // The same day's temperature and air: what was wrong with a reading is wrong with a filling too.
  const double doubt = n > 1 ? 1.0 / (sum_w + 1.0 / prior_now) : prior_now;
  const double filling = air::written_spread * air::written_spread + doubt + unlike;
  AirInterval since;  // most tires of a unit were read together before as well
  for (const Read& r : read_) {
    const AirReading& reading = unit.readings[r.reading];
    AirState& tire = tires_[static_cast<std::size_t>(reading.place)];
    shift(tire, moved.u, moved.b);
    // What the others of the visit say is wrong with it.
    const double rest_w = std::max(sum_w - r.weight, 0.0) + 1.0 / prior_now;
    const double of_others = n > 1 ? (sum_wr - r.weight * r.off) / rest_w : 0.0;
    const double level = r.level - of_others + moved.u;
    const double variance = r.noise + unlike + 1.0 / rest_w;
    const AirPart sound = sums == nullptr ? AirPart{} : tire.sound();
    if (r.days != since.days) {
      since = interval_of(model, r.days);
    }
    const AirFound found = update(tire, model, level, variance, since, reading.same_tire);
    const bool low = reading.level + reading.gas < tire.target - air::low_by,
               written = !std::isnan(reading.filled);
    if (sums != nullptr) {
      // Against what was foreseen of a sound tire: parts that leak follow the errors and would hide them.
      constexpr double surely = 0.8;
      if (tire.readings > 2 && sound.w > surely) {
        const double error = level - sound.u;
        sums->errors += found.ordinary;
        sums->error2 += found.ordinary * error * error / (sound.uu + variance);
      }
      sums->low_read += low ? 1.0 : 0.0, sums->low_written += low && written ? 1.0 : 0.0;
      sums->low_left += tire.low && r.days > 0.0 ? 1.0 : 0.0;
      sums->add(found, r.days, reading.same_tire);
    }
    tire.known_day = visit.day;
    tire.heat = reading.heat == KnownHeat::none ? usual : reading.gas;
    tire.low = low && !written;
    tire.set = tire.target - tire.heat - shared + moved.u;
    tire.set_variance = filling;
  }
  for (std::size_t i = visit.first; i < visit.end; ++i) {
    const AirReading& r = unit.readings[i];
    AirState& tire = tires_[static_cast<std::size_t>(r.place)];
    if (std::isnan(r.filled) || !tire.begun()) {
      continue;
    }
    if (!std::isnan(r.level)) {
      fill(tire, r.filled - unheated(r) - shared + moved.u, filling);
    } else if (anew_[i - visit.first] != 0 && r.heat == KnownHeat::none) {
      // Fitted, and nobody wrote how warm: in a heated shop or in the yard.
      fill(tire, r.filled - 0.5 * usual, air::begun_spread * air::begun_spread);
    } else {
      const double visit_sd = model.visit[static_cast<std::size_t>(r.heat)];
      fill(tire, r.filled - unheated(r), air::written_spread * air::written_spread + visit_sd * visit_sd);
    }
  }
}

}  // namespace wheelend
