#include "wheelend/leaks.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "leak_ahead.hpp"
#include "leak_unit.hpp"
#include "leak_visits.hpp"
#include "parallel.hpp"
#include "season.hpp"
#include "wheelend/pressure.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr std::int32_t never = std::numeric_limits<std::int32_t>::min();
constexpr std::int32_t epoch_days = 28;  // what an epoch taught holds from the next on
constexpr std::size_t learning_units =
    400;                           // a large fleet is learned from a part of it: a choice, for the time
constexpr std::size_t block = 64;  // units between two words of progress

std::int32_t epoch_of(std::int32_t day) {
  return day >= 0 ? day / epoch_days : -((-day + epoch_days - 1) / epoch_days);
}

// Epochs after which the threshold is set anew, counted from the first.
bool sets_threshold(std::int32_t k) {
  return k == 1 || k == 2 || k == 4 || k == 6 || k == 9 || k == 13 || k == 19 || k == 26 ||
         (k > 26 && k % 13 == 0);
}

struct Epochs {
  std::int32_t first = 0;
  std::vector<AirModel> model;    // by epoch from the first
  std::vector<double> threshold;  // odds
  [[nodiscard]] std::size_t at(std::int32_t day) const {
    const std::int32_t e = epoch_of(day) - first;
    return static_cast<std::size_t>(std::clamp(e, 0, static_cast<std::int32_t>(model.size()) - 1));
  }
};

class Fleet {
 public:
  Fleet(const ReadingColumns& readings, const ColdColumns& conditions, const PositionColumns& positions,
        const LeakOptions& options)
      : r_(readings),
        p_(positions),
        options_(options),
        levels_(readings, conditions, positions),
        rows_(rows_by_position(readings, positions.facts.size())) {
    std::int32_t units = 0;
    for (std::size_t p = 0; p < p_.facts.size(); ++p) {
      units = std::max(units, p_.unit_at(p) + 1);
    }
    units_.resize(static_cast<std::size_t>(units));
    for (std::size_t p = 0; p < p_.facts.size(); ++p) {
      units_[static_cast<std::size_t>(p_.unit_at(p))].push_back(static_cast<std::int32_t>(p));
    }
  }

  FleetLeaks run() {
    learn_epochs();
    judge_units();
    return std::move(out_);
  }

 private:
  void learn_epochs();
  void judge_units();
  void judge_unit(std::size_t u, UnitAir& air, LeakAlarms& alarms);
  void write(std::size_t position, const AirState& tire);

  const ReadingColumns& r_;
  const PositionColumns& p_;
  const LeakOptions options_;
  const LevelReader levels_;
  const RowsByPosition rows_;
  std::vector<std::vector<std::int32_t>> units_;
  Epochs epochs_;
  FleetLeaks out_;
};

void Fleet::learn_epochs() {
  const std::size_t n = std::min(units_.size(), learning_units);
  std::vector<UnitAir> units(n);
  parallel(n, options_.threads, [&](std::size_t first, std::size_t last) {
    for (std::size_t i = first; i < last; ++i) {
      levels_.unit(rows_, units_[i * units_.size() / n], options_.as_of, units[i]);
    }
  });
  std::int32_t first_day = std::numeric_limits<std::int32_t>::max(), last_day = never;
  for (const UnitAir& u : units) {
    if (!u.visits.empty()) {
      first_day = std::min(first_day, u.visits.front().day);
      last_day = std::max(last_day, u.visits.back().day);
    }
  }
  epochs_.model.push_back(prior_air_model());
  epochs_.threshold.push_back(nan);
  if (last_day == never) {
    epochs_.threshold.back() = 0.0;
    return;
  }
  epochs_.first = epoch_of(first_day);
  std::vector<UnitWalk> walks;
  walks.reserve(n);
  for (const UnitAir& u : units) {
    walks.emplace_back(u);
  }
  std::vector<std::size_t> next(n, 0);
  std::vector<AirSums> sums(n);
  AirSums total;
  AirModel model = epochs_.model.back();
  const std::int32_t epochs = epoch_of(last_day) - epochs_.first + 1;
  // The first threshold rests on the first epoch's visits, in which a tire was read once or twice: a leak
  // cannot be told from them, whatever the threshold.
  double threshold =
      alarm_odds(units, (epochs_.first + 1) * epoch_days, model, {}, options_.false_alarms, options_.threads);
  epochs_.threshold.back() = threshold;
  for (std::int32_t k = 0; k < epochs; ++k) {
    const std::int32_t end_day = (epochs_.first + k + 1) * epoch_days;
    parallel(n, options_.threads, [&](std::size_t first, std::size_t last) {
      for (std::size_t i = first; i < last; ++i) {
        sums[i] = AirSums();
        while (next[i] < units[i].visits.size() && units[i].visits[next[i]].day < end_day) {
          walks[i].visit(units[i], units[i].visits[next[i]++], model, &sums[i],
                         [](std::int32_t, const AirState&, bool) {});
        }
      }
    });
    AirSums epoch;
    std::vector<LossSeen> losses;
    LossSeen one;
    for (std::size_t i = 0; i < n; ++i) {
      epoch.add(sums[i]);
      for (const AirState& tire : walks[i].tires()) {
        if (tire.begun() && loss_seen(tire, one)) {
          losses.push_back(one);
        }
      }
    }
    learn(model, total, epoch, losses);
    if (sets_threshold(k + 1)) {
      threshold = alarm_odds(units, end_day, model, losses, options_.false_alarms, options_.threads);
    }
    epochs_.model.push_back(model);
    epochs_.threshold.push_back(threshold);
    told(options_.watch, 0.3 * (k + 1) / epochs);
  }
  LeaksLearned& l = out_.learned;
  l.loss_per_month = model.loss * month_days, l.loss_spread_per_month = model.loss_spread * month_days;
  l.reading = model.reading, l.visit = model.visit;
  l.warm_tires = model.warm_tires, l.warm_visits = model.warm_visits, l.slips = model.slips;
  l.written = model.written, l.fill_visit = model.fill_visit;
  l.swaps_per_month = model.swaps * month_days;
  l.fill_low_per_month = model.fill_low * month_days, l.fill_else_per_month = model.fill_else * month_days;
  l.alarm_odds = threshold;
}

void Fleet::judge_units() {
  const std::size_t n = p_.facts.size();
  LeakTable& t = out_.table;
  t.state.assign(n, static_cast<std::uint8_t>(LeakState::unknown));
  for (auto* column :
       {&t.probability, &t.pressure, &t.pressure_se, &t.target, &t.rate, &t.rate_low, &t.rate_high}) {
    column->assign(n, nan);
  }
  for (auto* column : {&t.first_alarm, &t.last_alarm, &t.last_read, &t.last_filled, &t.dropped}) {
    column->assign(n, never);
  }
  t.readings.assign(n, 0);
  for (auto& limit : t.days) {
    for (auto& level : limit) {
      level.assign(n, nan);
    }
  }
  std::vector<LeakAlarms> alarms(units_.size());
  for (std::size_t begin = 0; begin < units_.size();) {
    const std::size_t many = std::max(block, units_.size() / 50 + 1);
    const std::size_t end = std::min(begin + many, units_.size());
    parallel(end - begin, options_.threads, [&](std::size_t first, std::size_t last) {
      UnitAir air;
      for (std::size_t u = begin + first; u < begin + last; ++u) {
        judge_unit(u, air, alarms[u]);
      }
    });
    begin = end;
    told(options_.watch, 0.3 + 0.7 * static_cast<double>(begin) / static_cast<double>(units_.size()));
  }
  LeakAlarms& all = out_.alarms;
  for (const LeakAlarms& a : alarms) {
    all.position.insert(all.position.end(), a.position.begin(), a.position.end());
    all.day.insert(all.day.end(), a.day.begin(), a.day.end());
    all.pressure.insert(all.pressure.end(), a.pressure.begin(), a.pressure.end());
    all.target.insert(all.target.end(), a.target.begin(), a.target.end());
    all.rate.insert(all.rate.end(), a.rate.begin(), a.rate.end());
    all.probability.insert(all.probability.end(), a.probability.begin(), a.probability.end());
    all.refilled.insert(all.refilled.end(), a.refilled.begin(), a.refilled.end());
  }
}

void Fleet::judge_unit(std::size_t u, UnitAir& air, LeakAlarms& alarms) {
  const std::vector<std::int32_t>& positions = units_[u];
  levels_.unit(rows_, positions, options_.as_of, air);
  UnitWalk walk(air);
  std::vector<AlarmMemory> memory(positions.size());
  LeakTable& t = out_.table;
  double threshold = 0.0;
  for (const AirVisit& v : air.visits) {
    const std::size_t e = epochs_.at(v.day);
    threshold = epochs_.threshold[e];
    walk.visit(air, v, epochs_.model[e], nullptr, [&](std::int32_t place, const AirState& tire, bool anew) {
      const auto at = static_cast<std::size_t>(place);
      const auto p = static_cast<std::size_t>(positions[at]);
      const double odds = tire.leak_odds();
      if (anew) {
        t.first_alarm[p] = t.last_alarm[p] = never;
      }
      if (!memory[at].raises(tire, odds, threshold, anew)) {
        return;
      }
      t.first_alarm[p] = t.first_alarm[p] == never ? v.day : t.first_alarm[p];
      const bool refilled = t.last_alarm[p] != never && tire.filled_day >= t.last_alarm[p];
      t.last_alarm[p] = v.day;
      alarms.position.push_back(static_cast<std::int32_t>(p));
      alarms.day.push_back(v.day);
      alarms.pressure.push_back(std::max(std::exp(tire.mean) - sea_level_pressure.si(), 0.0));
      alarms.target.push_back(std::exp(tire.target) - sea_level_pressure.si());
      alarms.rate.push_back(loss_rate(tire, true, 0.5) * std::exp(tire.target));
      alarms.probability.push_back(tire.leak_share());
      alarms.refilled.push_back(refilled ? 1 : 0);
    });
  }
  // What follows speaks of as_of: the last epoch's model carries on.
  for (std::size_t at = 0; at < positions.size(); ++at) {
    AirState& tire = walk.tires()[at];
    const auto p = static_cast<std::size_t>(positions[at]);
    if (!tire.begun() || tire.readings == 0) {
      continue;
    }
    t.last_read[p] = tire.day;
    const double odds = tire.leak_odds();
    LeakState state = LeakState::normal;
    if (memory[at].standing) {
      const bool refilled =
          tire.filled_day != never && t.first_alarm[p] != never && tire.filled_day >= t.first_alarm[p];
      state = refilled ? LeakState::refilled_leak : LeakState::slow_leak;
    } else if (tire.dropped_day != never && tire.filled_day < tire.dropped_day) {
      state = LeakState::abrupt_loss;
    } else if (odds > 0.0) {
      state = LeakState::suspected;
    }
    t.state[p] = static_cast<std::uint8_t>(state);
    predict(tire, options_.as_of);
    write(p, tire);
  }
}

void Fleet::write(std::size_t p, const AirState& tire) {
  LeakTable& t = out_.table;
  const auto state = static_cast<LeakState>(t.state[p]);
  const double sea = sea_level_pressure.si(), absolute = std::exp(tire.target), now = std::exp(tire.mean);
  t.probability[p] = tire.leak_share();
  t.pressure[p] = std::max(now - sea, 0.0);
  t.pressure_se[p] = now * std::sqrt(tire.variance());
  t.target[p] = absolute - sea;
  t.readings[p] = tire.readings;
  t.last_filled[p] = tire.filled_day;
  t.dropped[p] = tire.dropped_day;
  const bool alarmed = state == LeakState::slow_leak || state == LeakState::refilled_leak;
  t.rate[p] = loss_rate(tire, alarmed, 0.50) * absolute;
  t.rate_low[p] = loss_rate(tire, alarmed, 0.05) * absolute;
  t.rate_high[p] = loss_rate(tire, alarmed, 0.95) * absolute;
  const double gauge = absolute - sea;
  const std::array<double, pressure_limits> limits{gauge - options_.band_pa, 0.8 * gauge, 0.5 * gauge};
  for (std::size_t l = 0; l < limits.size(); ++l) {
    const std::array<double, 7> days = days_below(tire, limits[l]);
    for (std::size_t q = 0; q < days.size(); ++q) {
      t.days[l][q][p] = std::isfinite(days[q]) ? days[q] : nan;
    }
  }
}

}  // namespace

FleetLeaks leaks_of_fleet(const ReadingColumns& readings, const ColdColumns& conditions,
                          const PositionColumns& positions, const LeakOptions& options) {
  if (!(options.false_alarms > 0.0)) {
    throw ColumnError("false alarms per 1000 tire-months: above 0");
  }
  return Fleet(readings, conditions, positions, options).run();
}

}  // namespace wheelend
