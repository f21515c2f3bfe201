#include "wheelend/wear_fit.hpp"

#include <algorithm>
#include <cmath>
#include <exception>
#include <numeric>

#include "parallel.hpp"
#include "wear_unit.hpp"
#include "wheelend/error.hpp"

namespace wheelend {

namespace wear_fit {
namespace {

// Channels that each item has: those that were ever read on it; of an item that was never read, those of its
// unit.
std::vector<std::vector<Index>> channels_of(const std::vector<WearItem>& items,
                                            const std::vector<WearUnit>& units, Index channels) {
  std::vector<std::vector<bool>> read(items.size(), std::vector<bool>(static_cast<std::size_t>(channels)));
  std::vector<std::vector<bool>> of_unit(units.size(), std::vector<bool>(static_cast<std::size_t>(channels)));
  for (std::size_t i = 0; i < items.size(); ++i) {
    for (const ItemReading& reading : items[i].readings) {
      for (std::size_t g = 0; g < read[i].size(); ++g) {
        if (!std::isnan(reading.depth[g])) {
          read[i][g] = of_unit[static_cast<std::size_t>(items[i].unit)][g] = true;
        }
      }
    }
  }
  std::vector<std::vector<Index>> out(items.size());
  for (std::size_t i = 0; i < items.size(); ++i) {
    const auto& from = items[i].readings.empty() ? of_unit[static_cast<std::size_t>(items[i].unit)] : read[i];
    const bool any = std::find(from.begin(), from.end(), true) != from.end();
    for (Index g = 0; g < channels; ++g) {
      if (from[static_cast<std::size_t>(g)] || !any) {
        out[i].push_back(g);
      }
    }
  }
  return out;
}

// Side and shoulder of each channel, by its place among those that the item has.
void place_channels(Fleet& fleet) {
  const auto columns = static_cast<Index>(fleet.items.size());
  fleet.side = fleet.outside = Matrix::Zero(fleet.channels, columns);
  for (Index i = 0; i < columns; ++i) {
    const std::vector<Index>& has = fleet.has[static_cast<std::size_t>(i)];
    const std::size_t n = has.size();
    for (std::size_t k = 0; k < n && n > 1; ++k) {
      fleet.side(has[k], i) = 1.0 - 2.0 * static_cast<double>(k) / static_cast<double>(n - 1);
      fleet.outside(has[k], i) = n > 2 && (k == 0 || k + 1 == n) ? 1.0 : 0.0;
    }
  }
}

class Fitting {
 public:
  Fitting(Fleet fleet, const std::vector<WearGroup>& groups, std::size_t readers, const WearSpreads& prior)
      : fleet_(std::move(fleet)), prior_groups_(groups), prior_(prior) {
    common_.spreads = prior;
    common_.groups = groups;
    for (WearGroup& g : common_.groups) {
      g.variance = square(fleet_.options.prior_groups);
      for (const double by_trait : fleet_.options.prior_traits) {
        g.variance += square(by_trait);
      }
    }
    common_.readers.assign(readers, 0.0);
    const Index knots =
        fleet_.units.empty() ? 1 : static_cast<Index>(fleet_.units.front().exposure_at_boundary.size()) - 1;
    common_.season_at_knot.assign(static_cast<std::size_t>(knots), 0.0);
    refresh(common_, fleet_.options);
    place_channels(fleet_);
    begin(knots);
  }

  WearFit run() {
    out_.items.resize(fleet_.items.size());
    out_.shallowest.resize(fleet_.items.size());
    std::vector<std::size_t> all(fleet_.units.size());
    std::iota(all.begin(), all.end(), std::size_t{0});
    // A large fleet is learned from a part of it, evenly spread over its list; then every unit is solved with
    // what was learned, and the last of the learning is from all.
    constexpr std::size_t learned_from = 600;
    const std::size_t every = (all.size() + learned_from - 1) / learned_from;
    if (every > 1) {
      std::vector<std::size_t> part;
      for (std::size_t u = 0; u < all.size(); u += every) {
        part.push_back(u);
      }
      constexpr int last_passes = 7;
      to_solve_ = part.size() * static_cast<std::size_t>(std::max(fleet_.options.passes - 2, 0)) +
                  all.size() * last_passes;
      for (int pass = 0; pass + 2 < fleet_.options.passes; ++pass) {
        const Sums sums = passed(part, pass, false);
        if (pass >= plain_passes) {
          learn(common_, sums, prior_, prior_groups_, fleet_.options);
        }
      }
      restart_but(part);
      for (int pass = 0; pass < last_passes; ++pass) {
        const bool last = pass + 1 == last_passes;
        const Sums sums = passed(all, pass, last);
        if (!last && pass > plain_passes) {
          learn(common_, sums, prior_, prior_groups_, fleet_.options);
        }
      }
    } else {
      to_solve_ = all.size() * static_cast<std::size_t>(fleet_.options.passes);
      for (int pass = 0; pass < fleet_.options.passes; ++pass) {
        const bool last = pass + 1 == fleet_.options.passes;
        const Sums sums = passed(all, pass, last);
        if (!last && pass >= plain_passes) {
          learn(common_, sums, prior_, prior_groups_, fleet_.options);
        }
      }
    }
    out_.spreads = common_.spreads;
    out_.groups = common_.groups;
    out_.readers = common_.readers;
    out_.season_cos = common_.season_cos;
    out_.season_sin = common_.season_sin;
    return std::move(out_);
  }

 private:
  // At first all readings weigh the same and nothing is learned: units are not yet where their readings are.
  static constexpr int plain_passes = 2;

  void begin(Index knots) {
    const auto n = static_cast<Index>(fleet_.items.size());
    beliefs_.own = Matrix::Zero(fleet_.item_size(), n);
    beliefs_.carried.resize(fleet_.items.size());
    for (Index i = 0; i < n; ++i) {
      begin_item(i);
    }
    for (const WearUnit& unit : fleet_.units) {
      UnitState state;
      state.turn.assign(static_cast<std::size_t>(unit.axles), -1);
      state.knot_count = knots;
      state.off = unit.odd_visits;
      state.x = Vector::Zero(1 + 2 * state.axles() + knots);
      beliefs_.units.push_back(std::move(state));
    }
  }

  void begin_item(Index i) {
    const WearItem& item = fleet_.items[static_cast<std::size_t>(i)];
    auto own = beliefs_.own.col(i);
    own.setZero();
    own[p_depth] = item.full;
    if (std::isnan(item.begins)) {
      double sum = 0.0;
      int count = 0;
      const auto good = std::find_if(item.readings.begin(), item.readings.end(),
                                     [](const ItemReading& r) { return !r.slip; });
      for (const double d : (good != item.readings.end() ? *good : item.readings.front()).depth) {
        if (!std::isnan(d)) {
          sum += d;
          ++count;
        }
      }
      own[p_depth] = count > 0 ? sum / count : item.full / 2.0;
    }
    own[p_strength] = common_.spreads.strength_mean;
    own[p_shoulder] = common_.spreads.shoulder_mean;
  }

  // Units that were not learned from begin at what was learned.
  void restart_but(const std::vector<std::size_t>& part) {
    std::vector<bool> known(fleet_.units.size(), false);
    for (const std::size_t u : part) {
      known[u] = true;
    }
    for (std::size_t i = 0; i < fleet_.items.size(); ++i) {
      if (!known[static_cast<std::size_t>(fleet_.items[i].unit)]) {
        begin_item(static_cast<Index>(i));
      }
    }
  }

  // One pass over some units. Blocks of units are of one size whatever the number of threads, and are added
  // up in their order.
  Sums passed(const std::vector<std::size_t>& which, int pass, bool finish) {
    constexpr std::size_t block = 16;
    const std::size_t blocks = (which.size() + block - 1) / block;
    const int weighed = pass - plain_passes;
    const UnitSolver::Tasks tasks{.plain = weighed < 0,
                                  .leave_slips_out = weighed <= 2,
                                  .find_odd_visits = weighed > 2,
                                  .find_turns = weighed > 2 && weighed % 3 == 0,
                                  .finish = finish};
    std::vector<Sums> sums(blocks, Sums(common_.groups.size(), common_.readers.size()));
    std::vector<std::vector<DoubtedReading>> doubted(blocks);
    std::vector<std::vector<OddUnitVisit>> odd(blocks);
    std::vector<Carried> next = beliefs_.carried;
    told(fleet_.options.watch, share_done());
    parallel(blocks, fleet_.options.threads, [&](std::size_t first, std::size_t last) {
      UnitSolver solver(fleet_);
      for (std::size_t b = first; b < last; ++b) {
        for (std::size_t k = b * block; k < std::min((b + 1) * block, which.size()); ++k) {
          solver.step(which[k], common_, beliefs_, next, tasks, sums[b], out_, doubted[b], odd[b]);
        }
      }
    });
    beliefs_.carried = std::move(next);
    solved_ += which.size();
    Sums total(common_.groups.size(), common_.readers.size());
    for (std::size_t b = 0; b < blocks; ++b) {
      total.add(sums[b]);
      out_.doubted.insert(out_.doubted.end(), doubted[b].begin(), doubted[b].end());
      out_.odd_visits.insert(out_.odd_visits.end(), odd[b].begin(), odd[b].end());
    }
    return total;
  }

  // Fitments come before and passages after: about a tenth each.
  [[nodiscard]] double share_done() const {
    return 0.1 +
           0.8 * static_cast<double>(solved_) / static_cast<double>(std::max<std::size_t>(to_solve_, 1));
  }

  std::size_t solved_ = 0, to_solve_ = 0;
  Fleet fleet_;
  const std::vector<WearGroup>& prior_groups_;
  const WearSpreads prior_;
  Common common_;
  Beliefs beliefs_;
  WearFit out_;
};

}  // namespace
}  // namespace wear_fit

WearFit fit_wear(const std::vector<WearItem>& items, const std::vector<WearUnit>& units,
                 const std::vector<WearGroup>& groups, std::size_t readers, std::size_t channels,
                 const WearSpreads& prior, const std::vector<double>& wanted, const WearFitOptions& options) {
  require_same_size(items.size(), wanted.size(), "wanted");
  for (const WearItem& item : items) {
    if ((item.readings.empty() && std::isnan(item.begins)) || !(item.full > 0.0)) {
      throw ColumnError("an item needs a reading or a beginning, and a full depth above 0");
    }
  }
  wear_fit::Fleet fleet{.items = items,
                        .units = units,
                        .channels = static_cast<wear_fit::Index>(channels),
                        .wanted = wanted,
                        .options = options,
                        .courses = wear_fit::Courses(items, units, wanted),
                        .has = wear_fit::channels_of(items, units, static_cast<wear_fit::Index>(channels)),
                        .side = {},
                        .outside = {},
                        .followed = std::vector<bool>(items.size(), false)};
  for (const WearItem& item : items) {
    if (item.previous >= 0) {
      fleet.followed[static_cast<std::size_t>(item.previous)] = true;
    }
  }
  return wear_fit::Fitting(std::move(fleet), groups, readers, prior).run();
}

}  // namespace wheelend
