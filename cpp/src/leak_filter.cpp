#include "leak_filter.hpp"

#include <algorithm>
#include <cmath>

namespace wheelend {

namespace {

constexpr double small = 2e-5;  // weights below it are not followed
// Share below which a part goes after so many days: well below that of the rarest leak that may have begun
// within them, however often the tire is read.
double least_share(double days) { return 3e-4 * std::clamp(days / 28.0, 0.02, 1.0); }

// Of all densities here the factor 1 / sqrt(2 pi) is left out. They become weights, for which the digits of a
// float are enough, at half the time.
double density(double error2, double variance) {
  return std::exp(static_cast<float>(-0.5 * error2 / variance)) / std::sqrt(static_cast<float>(variance));
}
// Probability of what happens at a rate within days.
double within(double rate, double days) { return -std::expm1(-rate * days); }
constexpr double root_two_pi = 2.5066282746310002;

// A leak of class j (from 1 on) that begins somewhere within the days just gone, of a tire that was sound.
AirPart leaking(const AirPart& before, std::size_t j, double days) {
  AirPart p = before;
  const double rate = air::class_rate[j - 1], s2 = air::class_spread * air::class_spread * rate * rate;
  p.w = before.w * air::class_share[j - 1];
  p.u -= 0.5 * rate * days;
  p.b += rate;
  p.uu += days * days * (rate * rate / 12.0 + s2 / 3.0);
  p.ub -= 0.5 * s2 * days;
  p.bb += s2;
  return p;
}

void observe(AirPart& p, double error, double variance) {
  const double s = 1.0 / (p.uu + variance), ku = p.uu * s, kb = p.ub * s;
  p.u += ku * error;
  p.b += kb * error;
  p.bb -= kb * p.ub;
  p.ub -= ku * p.ub;
  p.uu -= ku * p.uu;
}

// A tire that is sound as far as anyone knows, at a level; `days` of loss lie between the level and now.
AirPart sound_part(const AirState& tire, double w, double level, double variance, double days) {
  AirPart p{};
  p.w = w;
  p.b = tire.loss, p.bb = tire.loss_spread * tire.loss_spread;
  p.u = level - p.b * days;
  p.uu = variance + days * days * p.bb;
  p.ub = -days * p.bb;
  return p;
}

// Weight of each class, and its heaviest part.
struct Classes {
  std::array<double, air_classes> w{};
  std::array<const AirPart*, air_classes> heaviest{};
};
Classes classes_of(const AirParts& parts) {
  Classes out;
  parts.each([&](std::size_t j, const AirPart& p) {
    if (out.heaviest[j] == nullptr || p.w > out.heaviest[j]->w) {
      out.heaviest[j] = &p;
    }
    out.w[j] += p.w;
  });
  return out;
}

// What a filling leaves: of each class its rate, at a level that was set `from` to `to` days ago. Calls
// f(class, part).
template <class F>
void filled_parts(const Classes& c, double level, double variance, double from, double to, const F& f) {
  const double days = 0.5 * (from + to), width = from - to;
  for (std::size_t j = 0; j < air_classes; ++j) {
    if (c.w[j] < small) {
      continue;
    }
    AirPart p = *c.heaviest[j];
    p.w = c.w[j] * (j == 0 ? 1.0 : 1.0 - air::healed);
    p.u = level - p.b * days;
    p.uu = variance + p.b * p.b * width * width / 12.0 + (days * days + width * width / 12.0) * p.bb;
    p.ub = -days * p.bb;
    f(j, p);
  }
}
// Leaks that were repaired.
double repaired_share(const Classes& c) {
  double leak = 0.0;
  for (std::size_t j = 1; j < air_classes; ++j) {
    leak += c.w[j];
  }
  return air::healed * leak;
}

}  // namespace

double AirState::leak_share() const {
  double leak = 0.0;
  parts.each([&](std::size_t j, const AirPart& p) { leak += j == 0 ? 0.0 : p.w; });
  return leak;
}

double AirState::leak_odds() const {
  double leak = 1e-12, none = 1e-12;
  parts.each([&](std::size_t j, const AirPart& p) { (j == 0 ? none : leak) += p.w; });
  return std::log(leak / none);
}

double AirState::variance() const {
  double v = 0.0;
  parts.each([&](std::size_t, const AirPart& p) { v += p.w * (p.uu + (p.u - mean) * (p.u - mean)); });
  return v;
}

void AirState::find_mean() {
  mean = 0.0;
  parts.each([this](std::size_t, const AirPart& p) { mean += p.w * p.u; });
}

AirPart AirState::sound() const {
  AirPart all{};
  for (const AirPart& p : parts.of(0)) {
    if (all.w == 0.0) {
      all = p;
    } else {
      merge(all, p);
    }
  }
  return all;
}

void set_target(AirState& tire, double target) {
  if (target != tire.target) {
    tire.target = target;
    tire.target_share = gauge_share(target);
  }
}

void begin_tire(AirState& tire, const AirModel& model, double target, double heat, std::int32_t day) {
  tire = AirState();
  set_target(tire, target);
  tire.heat = heat;
  tire.day = tire.known_day = day;
  tire.loss = model.loss;
  tire.loss_spread = model.loss_spread;
  // Filled to the target on a day that was as warm, or was not.
  constexpr double spread2 = air::begun_spread * air::begun_spread;
  tire.parts.add(0, sound_part(tire, 1.0, target - 0.5 * heat - air::begun_below, spread2, 0.0));
  tire.find_mean();
}

void predict(AirState& tire, std::int32_t day) {
  const double elapsed = day - tire.day;
  tire.day = day;
  if (elapsed <= 0.0) {
    return;
  }
  // The parts lie so near each other that one share holds for all.
  const double now = gauge_share(tire.mean) / tire.target_share;
  tire.parts.each([&](std::size_t j, AirPart& p) {
    const double f = elapsed * (j == 0 ? now : 0.5 * (1.0 + now));
    p.u -= f * p.b;
    p.uu += f * (f * p.bb - 2.0 * p.ub) + air::wander * elapsed;
    p.ub -= f * p.bb;
  });
  constexpr double heavy = 0.01;  // a sound tire less likely than this needs no leaks that begin
  AirPart sound = tire.sound();
  if (sound.w > heavy) {
    const double begun = within(air::begins, elapsed);
    for (AirPart& p : tire.parts.of(0)) {
      p.w *= 1.0 - begun;
    }
    sound.w *= begun;
    for (std::size_t j = 1; j < air_classes; ++j) {
      tire.parts.add(j, leaking(sound, j, elapsed));
    }
  }
  tire.find_mean();
}

AirInterval interval_of(const AirModel& model, double days) {
  return {days, within(model.drops, days), within(model.swaps, days), within(model.fill_low, days),
          within(model.fill_else, days)};
}

AirFound update(AirState& tire, const AirModel& model, double level, double variance,
                const AirInterval& since, bool same_tire) {
  const double elapsed = since.days, dropped = since.dropped, swapped = same_tire ? 0.0 : since.swapped;
  const double on_road_low = since.filled_low, on_road_else = since.filled_else;
  AirFound found;
  ++tire.readings;
  AirParts next;
  const double at_visit = elapsed > 0.0 && tire.low ? model.fill_visit : 0.0;
  const double believed = tire.mean;
  const double clean = 1.0 - model.warm_tires - model.slips;
  const double low_below = tire.target - tire.heat - air::low_by;
  double ordinary = 0.0, warm = 0.0, slip = 0.0, dropping = 0.0;
  tire.parts.each([&](std::size_t j, const AirPart& before) {
    const double error = level - before.u, e2 = error * error, s = before.uu + variance;
    const bool low = before.u < low_below;
    found.lowness += low ? before.w : 0.0;
    const double stays = before.w * (1.0 - at_visit) * (1.0 - (low ? on_road_low : on_road_else)) *
                         (1.0 - dropped) * (1.0 - swapped);
    AirPart p = before;
    p.w = stays * clean * density(e2, s);
    ordinary += p.w;
    observe(p, error, variance);
    // Within 1.5 standard errors nothing speaks for anything but an ordinary reading.
    if (e2 > 2.25 * s) {
      const double dw = error - air::warm_rise;
      const double as_warm = model.warm_tires * density(dw * dw, s + air::warm_spread * air::warm_spread);
      const double ten = std::abs(error) - air::slip_ten;
      const double as_ten = 0.5 * density(ten * ten, s + air::slip_ten_spread * air::slip_ten_spread);
      const double as_any = density(e2, s + air::slip_spread * air::slip_spread);
      const double as_slip = model.slips * 0.5 * (as_ten + as_any);
      warm += stays * as_warm;
      slip += stays * as_slip;
      const double unread = stays * (as_warm + as_slip);
      if (unread > 1e-3 * p.w) {
        AirPart q = before;  // the reading says nothing of the level
        q.w = unread;
        next.add(j, q);
      } else {
        p.w += unread;
      }
      if (error < -air::least_drop) {
        dropping += before.w * dropped * clean * root_two_pi / air::drop_range;
      }
    }
    next.add(j, p);
  });
  // Fillings that nobody wrote down: at the visit before, or on the road. They go up to the target, not down.
  const auto filling = [&](double share, double set, double spread2, double from, double to) {
    constexpr double rise = 0.01;  // of u: less is no filling that anyone could see
    if (!(set > believed + rise)) {
      return 0.0;
    }
    const double s = spread2 + variance, at = level - set + 0.5 * (from + to) * tire.loss;
    const double least = at < 0.0 ? std::min(at + 2.0 * (from + to) * tire.loss, 0.0) : at;
    if (!(share * density(least * least, s) > 1e-2 * ordinary)) {
      return 0.0;
    }
    double sum = 0.0;
    const auto take = [&](std::size_t j, AirPart p) {
      const double error = level - p.u;
      p.w *= share * clean * density(error * error, p.uu + variance);
      sum += p.w;
      observe(p, error, variance);
      next.add(j, p);
    };
    const Classes c = classes_of(tire.parts);
    filled_parts(c, set, spread2, from, to, take);
    const double repaired = repaired_share(c);
    if (repaired > small) {
      take(0, sound_part(tire, repaired, set, spread2, 0.5 * (from + to)));
    }
    return sum;
  };
  double fill_visit = 0.0, fill_low = 0.0, fill_else = 0.0;
  if (elapsed > 0.0) {
    fill_visit = at_visit > 0.0 ? filling(at_visit, tire.set, tire.set_variance, elapsed, elapsed) : 0.0;
    const double of_low = found.lowness * on_road_low, of_else = (1.0 - found.lowness) * on_road_else;
    if (of_low + of_else > 0.0) {
      const double both = filling((of_low + of_else) * (1.0 - at_visit), tire.target - tire.heat,
                                  air::fill_spread * air::fill_spread, elapsed, 0.0);
      fill_low = both * of_low / (of_low + of_else), fill_else = both - fill_low;
    }
  }
  if (dropping > 0.0) {
    next.add(0, sound_part(tire, dropping, level, variance, 0.0));
  }
  double swapping = 0.0;
  if (swapped > 0.0) {
    AirPart p = sound_part(tire, swapped, tire.target - tire.heat - air::begun_below,
                           air::begun_spread * air::begun_spread, 0.0);
    const double error = level - p.u;
    p.w *= clean * density(error * error, p.uu + variance);
    swapping = p.w;
    if (swapping > small * ordinary) {
      observe(p, error, variance);
      next.add(0, p);
    }
  }
  const double fills = fill_visit + fill_low + fill_else;
  const double total = ordinary + warm + slip + fills + dropping + swapping;
  if (!(total > 0.0) || !next.normalize(least_share(elapsed))) {
    return found;  // no part explains it at all: the reading is left out
  }
  found.warm = warm / total, found.slip = slip / total, found.drop = dropping / total;
  found.swap = swapping / total;
  found.fill_visit = fill_visit / total, found.fill_low = fill_low / total,
  found.fill_else = fill_else / total;
  found.ordinary = ordinary / total;
  if (fills > 0.5 * total) {
    tire.filled_day = fill_visit > 0.5 * fills ? tire.day - static_cast<std::int32_t>(elapsed) : tire.day;
  }
  if (found.drop > 0.5) {
    tire.dropped_day = tire.day;
  }
  tire.parts = next;
  tire.find_mean();
  return found;
}

void fill(AirState& tire, double level, double variance) {
  AirParts next;
  const Classes c = classes_of(tire.parts);
  filled_parts(c, level, variance, 0.0, 0.0, [&](std::size_t j, const AirPart& p) { next.add(j, p); });
  next.add(0, sound_part(tire, repaired_share(c), level, variance, 0.0));
  tire.filled_day = tire.known_day = tire.day;
  tire.low = false;
  if (next.normalize(least_share(0.0))) {
    tire.parts = next;
    tire.find_mean();
  }
}

void shift(AirState& tire, double level, double rate) {
  tire.parts.each([=](std::size_t, AirPart& p) { p.u += level, p.b += rate; });
  tire.mean += level;
}

}  // namespace wheelend
