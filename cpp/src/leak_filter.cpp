#include "leak_filter.hpp"

#include <algorithm>
#include <cmath>

#include "season.hpp"
#include "wheelend/pressure.hpp"

namespace wheelend {

namespace {

constexpr double reference_psia =
    115.0;  // where psi are turned into shares: a truck tire's absolute pressure
const double ln_sea_level = std::log(sea_level_pressure.si());
constexpr double two_pi = 6.283185307179586;

constexpr double per_day(double psi_per_month) { return psi_per_month / reference_psia / month_days; }

// Classes of leak rate beyond a sound tire's loss, psi a month: formulas 3.1 calls 3 to 5 worth watching and
// more a leak; the spread of each reaches its neighbors. Shares and hazard are invented; only the threshold
// of an alarm decides, and it is set on simulated sound tires.
constexpr std::array<double, leak_nodes> node_rate{per_day(3.0), per_day(5.0), per_day(8.5), per_day(15.0),
                                                   per_day(30.0)};
constexpr std::array<double, leak_nodes> node_share{0.24, 0.27, 0.24, 0.15, 0.10};
constexpr double node_spread = 0.32;                     // of its rate
constexpr double begins = 0.15 / 365.25;                 // leaks a day of a sound tire
constexpr double healed = 0.30;                          // leaks that are repaired when a tire is filled
constexpr double drops = 0.03 / 365.25;                  // sudden losses a day
constexpr double least_drop = 0.05;                      // of u
constexpr double drop_range = 1.8;                       // from there down to flat
constexpr double wander = 0.0004 * 0.0004;               // variance of u a day that no line explains
constexpr double warm_rise = 0.09, warm_spread = 0.045;  // of u: 5 to 20 % of the gauge pressure
constexpr double slip_spread = 0.12;
constexpr double fill_spread = 0.025;  // of a filling: weather, hour, gauge
constexpr double low_by = 0.030;       // of u below target: low, may be filled
constexpr double start_spread = 0.035;
constexpr double negligible = 2e-5;

double density(double error, double variance) {
  return std::exp(-0.5 * error * error / variance) / std::sqrt(two_pi * variance);
}

// `now`: gauge share of the pressure against that at target, which permeation follows.
void carry(AirPart& p, double days, double now) {
  const double f = days * (p.node == 0 ? now : 0.5 * (1.0 + now));
  p.u -= f * p.b;
  p.uu += f * (f * p.bb - 2.0 * p.ub) + wander * days;
  p.ub -= f * p.bb;
}

// A leak of class j that begins somewhere within the days just gone.
AirPart leaking(const AirPart& before, std::size_t j, double days) {
  AirPart p = before;
  const double rate = node_rate[j], s2 = node_spread * node_spread * rate * rate;
  p.node = static_cast<std::uint8_t>(j + 1);
  p.w = before.w * node_share[j];
  p.u -= 0.5 * rate * days;
  p.b += rate;
  p.uu += days * days * (rate * rate / 12.0 + s2 / 3.0);
  p.ub -= 0.5 * s2 * days;
  p.bb += s2;
  return p;
}

void observe(AirPart& p, double error, double variance) {
  const double s = p.uu + variance, ku = p.uu / s, kb = p.ub / s;
  p.u += ku * error;
  p.b += kb * error;
  p.bb -= kb * p.ub;
  p.ub -= ku * p.ub;
  p.uu -= ku * p.uu;
}

void merge(AirPart& a, const AirPart& b) {
  const double w = a.w + b.w, share = b.w / w, du = b.u - a.u, db = b.b - a.b;
  const double cross = share * (1.0 - share);
  a.uu += share * (b.uu - a.uu) + cross * du * du;
  a.ub += share * (b.ub - a.ub) + cross * du * db;
  a.bb += share * (b.bb - a.bb) + cross * db * db;
  a.u += share * du;
  a.b += share * db;
  a.w = w;
}

// How far two parts are from one distribution.
double apart(const AirPart& a, const AirPart& b) {
  const double du = a.u - b.u, db = a.b - b.b;
  return du * du / (a.uu + b.uu) + db * db / (a.bb + b.bb);
}

constexpr std::size_t most_born = 3 * most_parts;

// New parts before they are thinned out.
struct Born {
  std::array<AirPart, most_born> parts;
  std::size_t count = 0;
  void add(const AirPart& p) {
    if (count < most_born) {
      parts[count++] = p;
    }
  }
};

void keep(AirState& tire, Born& born) {
  double total = 0.0;
  for (std::size_t i = 0; i < born.count; ++i) {
    total += born.parts[i].w;
  }
  if (!(total > 0.0)) {
    return;  // no part explains it at all: the reading is left out
  }
  // Parts come in an order that depends on nothing but the readings, so ties need no rule.
  tire.count = 0;
  for (std::size_t i = 0; i < born.count; ++i) {
    AirPart& p = born.parts[i];
    p.w /= total;
    if (p.w < negligible) {
      continue;
    }
    bool joined = false;
    for (std::size_t k = 0; k < tire.count && !joined; ++k) {
      if (tire.parts[k].node == p.node && apart(tire.parts[k], p) < 1.0) {
        merge(tire.parts[k], p);
        joined = true;
      }
    }
    if (joined) {
      continue;
    }
    if (tire.count < most_parts) {
      tire.parts[tire.count++] = p;
      continue;
    }
    std::size_t lightest = 0;
    for (std::size_t k = 1; k < tire.count; ++k) {
      lightest = tire.parts[k].w < tire.parts[lightest].w ? k : lightest;
    }
    if (tire.parts[lightest].w < p.w) {
      tire.parts[lightest] = p;
    }
  }
  double kept = 0.0;
  for (std::size_t k = 0; k < tire.count; ++k) {
    kept += tire.parts[k].w;
  }
  for (std::size_t k = 0; k < tire.count; ++k) {
    tire.parts[k].w /= kept;
  }
}

// Weight by class, and the heaviest part of each.
struct Classes {
  std::array<double, leak_nodes + 1> w{};
  std::array<std::size_t, leak_nodes + 1> heaviest{};
};
Classes classes_of(const AirState& tire) {
  Classes out;
  for (std::size_t k = 0; k < tire.count; ++k) {
    const AirPart& p = tire.parts[k];
    if (out.w[p.node] == 0.0 || p.w > tire.parts[out.heaviest[p.node]].w) {
      out.heaviest[p.node] = k;
    }
    out.w[p.node] += p.w;
  }
  return out;
}

// Parts after a filling to `level`, `days` of loss ago: of each class what stays, and what was repaired.
void filled_parts(const AirState& tire, double level, double variance, double days, double w, Born& out) {
  const Classes c = classes_of(tire);
  double repaired = 0.0;
  for (std::size_t j = 0; j <= leak_nodes; ++j) {
    if (c.w[j] < negligible) {
      continue;
    }
    AirPart p = tire.parts[c.heaviest[j]];
    const double loss = p.b * days;
    p.w = w * c.w[j] * (j == 0 ? 1.0 : 1.0 - healed);
    repaired += j == 0 ? 0.0 : w * c.w[j] * healed;
    p.u = level - 0.5 * loss;
    p.uu = variance + loss * loss / 12.0 + days * days * p.bb / 3.0;
    p.ub = -0.5 * days * p.bb;
    out.add(p);
  }
  if (repaired > negligible * w) {
    AirPart p{};
    p.w = repaired;
    p.b = tire.loss, p.bb = tire.loss_variance;
    p.u = level - 0.5 * p.b * days;
    p.uu = variance + days * days * p.bb / 3.0;
    p.ub = -0.5 * days * p.bb;
    out.add(p);
  }
}

}  // namespace

AirModel prior_air_model() {
  AirModel m;
  // 1 to 3 psi a month: formulas 3.1 (Tire Review, trade digest); spread so that 95 % lie within
  m.loss = per_day(1.8), m.loss_spread = per_day(0.7);
  m.reading = 1.2 / reference_psia;               // a stick gauge of 3 % new, read to 1 psi: formulas 9.1
  m.visit = {1.2 / reference_psia, 0.016, 0.04};  // reader; 5 degF of doubt (1.6); season unknown
  m.season = {-0.018, 0.0, 0.0};  // 15 degC: common practice, no source; the season is learned
  m.warm_tires = 0.015, m.warm_visits = 0.05, m.slips = 0.003;
  m.fill_low = 0.15, m.fill_else = 0.03, m.written_low = 0.3;  // invented, weak
  return m;
}

std::array<double, 3> season_terms(std::int32_t day) {
  const double angle = two_pi * std::fmod(day / 365.25, 1.0);
  return {1.0, std::cos(angle), std::sin(angle)};
}

double usual_heat(const AirModel& model, std::int32_t day) {
  const std::array<double, 3> x = season_terms(day);
  return model.season[0] + model.season[1] * x[1] + model.season[2] * x[2];
}

double gauge_share(double u) { return std::max(1.0 - std::exp(ln_sea_level - u), 0.02); }

double AirState::leak_share() const {
  double leak = 0.0;
  for (std::size_t k = 0; k < count; ++k) {
    leak += parts[k].node == 0 ? 0.0 : parts[k].w;
  }
  return leak;
}

double AirState::leak_odds() const {
  double leak = 1e-12, none = 1e-12;
  for (std::size_t k = 0; k < count; ++k) {
    (parts[k].node == 0 ? none : leak) += parts[k].w;
  }
  return std::log(leak / none);
}

double AirState::mean() const {
  double m = 0.0;
  for (std::size_t k = 0; k < count; ++k) {
    m += parts[k].w * parts[k].u;
  }
  return m;
}

double AirState::variance() const {
  const double m = mean();
  double v = 0.0;
  for (std::size_t k = 0; k < count; ++k) {
    const double d = parts[k].u - m;
    v += parts[k].w * (parts[k].uu + d * d);
  }
  return v;
}

const AirPart* AirState::sound() const {
  const AirPart* best = nullptr;
  for (std::size_t k = 0; k < count; ++k) {
    if (parts[k].node == 0 && (best == nullptr || parts[k].w > best->w)) {
      best = &parts[k];
    }
  }
  return best;
}

void begin_tire(AirState& tire, const AirModel& model, double target, double heat, std::int32_t day) {
  tire = AirState();
  tire.target = target;
  tire.heat = heat;
  tire.day = day;
  tire.loss = model.loss;
  tire.loss_variance = model.loss_spread * model.loss_spread;
  AirPart p{};
  p.w = 1.0;
  p.u = target - 0.5 * heat - 0.015;  // filled to the target on a day that was as warm or not
  p.uu = start_spread * start_spread;
  p.b = tire.loss, p.bb = tire.loss_variance;
  tire.parts[0] = p;
  tire.count = 1;
}

void predict(AirState& tire, const AirModel& /*model*/, std::int32_t day) {
  const double elapsed = day - tire.day;
  tire.day = day;
  if (elapsed <= 0.0) {
    return;
  }
  // The parts lie so near each other that one share holds for all.
  const double now = gauge_share(tire.mean()) / gauge_share(tire.target);
  const double begun = 1.0 - std::exp(-begins * elapsed);
  constexpr double heavy = 0.01;  // lighter parts of a sound tire need no leaks of their own
  std::size_t births = 0;
  for (std::size_t k = 0; k < tire.count; ++k) {
    carry(tire.parts[k], elapsed, now);
    births += tire.parts[k].node == 0 && tire.parts[k].w > heavy ? leak_nodes : 0;
  }
  const std::size_t before = tire.count;
  const bool room = before + births <= most_parts;
  Born born;
  for (std::size_t k = 0; k < before; ++k) {
    AirPart& p = tire.parts[k];
    if (p.node == 0 && p.w > heavy) {
      AirPart from = p;
      from.w = p.w * begun;
      p.w -= from.w;
      for (std::size_t j = 0; j < leak_nodes; ++j) {
        if (room) {
          tire.parts[tire.count++] = leaking(from, j, elapsed);
        } else {
          born.add(leaking(from, j, elapsed));
        }
      }
    }
    if (!room) {
      born.add(p);
    }
  }
  if (!room) {
    keep(tire, born);  // the update that follows thins them out otherwise
  }
}

AirFound update(AirState& tire, const AirModel& model, double level, double variance, double elapsed) {
  AirFound found;
  ++tire.readings;
  Born born;
  const double dropped = 1.0 - std::exp(-drops * elapsed);
  const double clean = 1.0 - model.warm_tires - model.slips;
  double ordinary = 0.0, warm = 0.0, slip = 0.0, dropping = 0.0, lowness = 0.0;
  double error2 = 0.0;
  for (std::size_t k = 0; k < tire.count; ++k) {
    const AirPart& before = tire.parts[k];
    const double error = level - before.u, s = before.uu + variance;
    const bool low = before.u + tire.heat < tire.target - low_by;
    lowness += low ? before.w : 0.0;
    const double filled = elapsed > 0.0 ? (low ? model.fill_low : model.fill_else) : 0.0;
    const double stays = before.w * (1.0 - filled - dropped);
    const double as_usual = clean * density(error, s);
    // Within 1.5 standard errors nothing speaks for anything but an ordinary reading.
    const bool plain = error * error < 2.25 * s;
    const double as_warm =
        plain ? 0.0 : model.warm_tires * density(error - warm_rise, s + warm_spread * warm_spread);
    const double as_slip = plain ? 0.0 : model.slips * density(error, s + slip_spread * slip_spread);
    AirPart p = before;
    p.w = stays * as_usual;
    ordinary += p.w;
    error2 += p.w * error * error / s;
    observe(p, error, variance);
    born.add(p);
    const double apart_w = stays * (as_warm + as_slip);
    warm += stays * as_warm;
    slip += stays * as_slip;
    if (apart_w > 1e-3 * p.w) {
      AirPart q = before;  // the reading says nothing of the level
      q.w = apart_w;
      born.add(q);
    } else {
      born.parts[born.count - 1].w += apart_w;
    }
    if (error < -least_drop) {
      dropping += before.w * dropped * clean / drop_range;
    }
  }
  double filling = 0.0;
  if (elapsed > 0.0) {
    const double fill_share = lowness * model.fill_low + (1.0 - lowness) * model.fill_else;
    const std::size_t first = born.count;
    const double spread = fill_spread * fill_spread + variance;
    const double set = tire.target - tire.heat, at = level - set;
    // A filling goes up to the target, not down.
    const double least = at < 0.0 ? std::min(at + 4.0 * tire.loss * elapsed, 0.0) : at;
    if (fill_share * density(least, spread) > 3e-4 * ordinary) {
      filled_parts(tire, set, fill_spread * fill_spread, elapsed, fill_share, born);
      for (std::size_t i = first; i < born.count; ++i) {
        AirPart& p = born.parts[i];
        const double error = level - p.u;
        p.w *= clean * density(error, p.uu + variance);
        filling += p.w;
        observe(p, error, variance);
      }
    }
  }
  if (dropping > 0.0) {
    AirPart p{};
    p.w = dropping;
    p.u = level, p.uu = variance;
    p.b = tire.loss, p.bb = tire.loss_variance;
    born.add(p);
  }
  const double total = ordinary + warm + slip + filling + dropping;
  if (total > 0.0) {
    found.warm = warm / total, found.slip = slip / total, found.fill = filling / total;
    found.drop = dropping / total;
    found.low = lowness > 0.5;
    found.ordinary = ordinary / total, found.error2 = error2 / total;
    if (found.fill > 0.5) {
      tire.filled_day = tire.day;
    }
    if (found.drop > 0.5) {
      tire.dropped_day = tire.day;
    }
  }
  keep(tire, born);
  return found;
}

void fill(AirState& tire, const AirModel& /*model*/, double level, double variance) {
  Born born;
  filled_parts(tire, level, variance, 0.0, 1.0, born);
  tire.filled_day = tire.day;
  keep(tire, born);
}

void shift(AirState& tire, double by) {
  for (std::size_t k = 0; k < tire.count; ++k) {
    tire.parts[k].u += by;
  }
}

}  // namespace wheelend
