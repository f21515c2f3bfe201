// The odds at which an alarm is raised: sound tires are simulated on the fleet's own days of reading.
#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include "leak_unit.hpp"
#include "parallel.hpp"
#include "season.hpp"
#include "split_mix.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr std::size_t levels = 64;  // thresholds that are tried together
constexpr double lowest = -4.0, step = 0.25;
constexpr double wanted_months = 60000.0;  // tire-months simulated
constexpr int most_repeats = 400;
constexpr double least_days = 365.25;  // a shorter record is read on as it was
constexpr std::size_t most_units = 200;
// What is learned counts as known, and no fleet is quite as the model: errors and losses are simulated wider
// than they were learned, by as much as the setting needed on simulated fleets (tuning seeds of
// tests/bench/leaks.py).
constexpr double reading_wider = 1.22, loss_wider = 1.2;
constexpr double weather = 0.018;  // of ln(air temperature) about the season: 10 degF

class Stream {
 public:
  Stream(std::uint64_t unit, std::uint64_t repeat) : key_(mixed(mixed(unit + 1) ^ (repeat * golden))) {}
  double even() { return (static_cast<double>(mixed(key_ + golden * ++count_) >> 11) + 0.5) * 0x1.0p-53; }
  double normal() {
    const double r = std::sqrt(-2.0 * std::log(even()));
    return r * std::cos(6.283185307179586 * even());
  }

 private:
  std::uint64_t key_, count_ = 0;
};

// The unit's days and places of reading up to a day, read on in the same rhythm for a year at least.
UnitAir plan_of(const UnitAir& unit, std::int32_t until_day, std::int32_t least) {
  UnitAir plan;
  plan.places = unit.places;
  std::size_t visits = 0;
  while (visits < unit.visits.size() && unit.visits[visits].day < until_day) {
    ++visits;
  }
  if (visits == 0) {
    return plan;
  }
  const std::int32_t first = unit.visits[0].day;
  const std::int32_t last = unit.visits[visits - 1].day;
  const std::int32_t turn =
      visits > 1 ? last - first + (last - first) / static_cast<std::int32_t>(visits - 1) : 28;
  for (std::int32_t off = 0; off == 0 || off < least; off += std::max(turn, 1)) {
    for (std::size_t v = 0; v < visits; ++v) {
      AirVisit visit{unit.visits[v].day - first + off, plan.readings.size(), 0};
      for (std::size_t i = unit.visits[v].first; i < unit.visits[v].end; ++i) {
        AirReading r = unit.readings[i];
        if (!std::isnan(r.level)) {
          r.filled = nan, r.other_tire = false;
          plan.readings.push_back(r);
        }
      }
      visit.end = plan.readings.size();
      if (visit.end > visit.first) {
        plan.visits.push_back(visit);
      }
    }
  }
  return plan;
}

struct True {
  double u = 0.0, loss = 0.0;
  std::int32_t day = 0;
};

void simulate(UnitAir& plan, const AirModel& m, Stream& s) {
  const double usual_target = std::log(790e3);  // about 100 psi, for places without a target
  std::vector<True> tires(plan.places);
  std::vector<double> targets(plan.places, nan);
  for (AirReading& r : plan.readings) {  // one target for a place: the first
    double& t = targets[static_cast<std::size_t>(r.place)];
    t = std::isnan(t) ? (std::isnan(r.target) ? usual_target : r.target) : t;
    r.target = std::isnan(r.target) ? nan : t;
  }
  for (std::size_t p = 0; p < tires.size(); ++p) {
    tires[p].u = targets[p] - 0.02 + 0.02 * s.normal() -
                 (plan.visits.empty() ? 0.0 : usual_heat(m, plan.visits[0].day));
    // Losses are above 0 and skewed: lognormal with the learned mean and spread.
    const double cv = loss_wider * m.loss_spread / m.loss, log_sd = std::sqrt(std::log1p(cv * cv));
    tires[p].loss = m.loss * std::exp(log_sd * s.normal() - 0.5 * log_sd * log_sd);
    tires[p].day = plan.visits.empty() ? 0 : plan.visits[0].day;
  }
  for (const AirVisit& v : plan.visits) {
    const bool warm_visit = s.even() < m.warm_visits;
    const double rise = 0.045 + 0.12 * s.even();
    const double shared = s.normal(), usual = usual_heat(m, v.day), heat = usual + weather * s.normal();
    for (std::size_t i = v.first; i < v.end; ++i) {
      AirReading& r = plan.readings[i];
      const auto p = static_cast<std::size_t>(r.place);
      const double target = targets[p];
      True& t = tires[p];
      const double days = v.day - t.day, now = gauge_share(t.u) / gauge_share(target);
      t.day = v.day;
      const bool low = t.u + usual < target - 0.03;
      if (days > 0.0 && s.even() < (low ? m.fill_low : m.fill_else)) {
        t.u = target - usual + 0.025 * s.normal() - t.loss * days * s.even();
      } else {
        t.u -= t.loss * days * now - 0.0004 * std::sqrt(days) * s.normal();
      }
      const double visit_off = m.visit[static_cast<std::size_t>(r.heat)] * shared;
      r.air = r.heat == KnownHeat::ambient ? heat : nan;
      r.level = t.u + visit_off + reading_wider * m.reading * s.normal();
      r.level += r.heat == KnownHeat::none ? usual : 0.0;
      if (warm_visit) {
        r.level += rise * (1.0 + 0.2 * s.normal());
      } else if (s.even() < m.warm_tires) {
        r.level += 0.045 + 0.12 * s.even();
      }
      if (s.even() < m.slips) {
        r.level += 0.12 * s.normal();
      }
      r.filled = nan;
      if (!warm_visit && t.u + heat < target - 0.03 && s.even() < m.written_low) {
        // Set at the temperature of the day; what is wrong with the visit is wrong with this too.
        t.u = target - heat + 0.013 * s.normal() - visit_off;
        r.filled = target - heat + (r.heat == KnownHeat::none ? usual : 0.0);
      }
    }
  }
}

using Counts = std::array<double, levels>;

void count_alarms(const UnitAir& plan, const AirModel& model, Counts& counts) {
  UnitWalk walk(plan);
  AirSums sums;
  std::vector<std::array<AlarmMemory, levels>> memory(plan.places);
  std::vector<std::uint8_t> quiet(plan.places, 1);  // nothing stands at any level
  for (const AirVisit& v : plan.visits) {
    walk.visit(plan, v, model, sums, [&](std::int32_t place, const AirState& tire, bool other_tire) {
      const auto p = static_cast<std::size_t>(place);
      const double odds = tire.leak_odds();
      if (odds < lowest && quiet[p] != 0) {
        return;
      }
      bool stands = false;
      for (std::size_t k = 0; k < levels; ++k) {
        AlarmMemory& m = memory[p][k];
        counts[k] += m.raises(tire, odds, lowest + step * static_cast<double>(k), other_tire) ? 1.0 : 0.0;
        stands = stands || m.standing;
      }
      quiet[p] = stands ? 0 : 1;
    });
  }
}

}  // namespace

double alarm_odds(const std::vector<UnitAir>& units, std::int32_t until_day, const AirModel& model,
                  double false_alarms, int threads) {
  const std::size_t n = std::min(units.size(), most_units);
  std::vector<UnitAir> plans;
  double months = 0.0;
  for (std::size_t i = 0; i < n; ++i) {
    plans.push_back(plan_of(units[i * units.size() / n], until_day, static_cast<std::int32_t>(least_days)));
    const UnitAir& p = plans.back();
    if (!p.visits.empty()) {
      months += (p.visits.back().day - p.visits.front().day) * static_cast<double>(p.places) / month_days;
    }
  }
  constexpr double fallback = 3.0;
  if (!(months > 0.0)) {
    return fallback;
  }
  const int repeats = std::clamp(static_cast<int>(wanted_months / months), 1, most_repeats);
  std::vector<Counts> of_unit(n);
  parallel(n, threads, [&](std::size_t first, std::size_t last) {
    for (std::size_t i = first; i < last; ++i) {
      of_unit[i].fill(0.0);
      for (int repeat = 0; repeat < repeats && !plans[i].visits.empty(); ++repeat) {
        Stream s(i, static_cast<std::uint64_t>(repeat));
        UnitAir plan = plans[i];
        simulate(plan, model, s);
        count_alarms(plan, model, of_unit[i]);
      }
    }
  });
  Counts counts{};
  for (const Counts& c : of_unit) {
    std::transform(counts.begin(), counts.end(), c.begin(), counts.begin(), std::plus<>());
  }
  const double wanted = false_alarms / 1000.0 * months * repeats;
  // From the highest threshold down to where the count is passed; between two, straight in the logarithm.
  for (std::size_t k = levels; k-- > 0;) {
    if (counts[k] >= wanted) {
      const double at = lowest + step * static_cast<double>(k);
      if (k + 1 == levels) {
        return at;
      }
      const double here = std::log(counts[k] + 0.5), next = std::log(counts[k + 1] + 0.5);
      const double part = here > next ? (here - std::log(wanted + 0.5)) / (here - next) : 0.0;
      return at + step * std::clamp(part, 0.0, 1.0);
    }
  }
  return lowest;
}

}  // namespace wheelend
