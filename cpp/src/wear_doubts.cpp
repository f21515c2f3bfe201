#include "wear_doubts.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

class Doubting {
 public:
  Doubting(const WearItems& items, const Fitments& fitments, Measure measure, double step_mm)
      : items_(items), fitments_(fitments), measure_(measure), step_mm_(step_mm) {}

  Doubts run(const WearFit& fit) {
    keep_doubts(fit);
    return std::move(out_);
  }

 private:
  struct Doubt {
    std::int32_t position = -1, unit = -1, day = 0, groove = -1;
    double depth_mm = nan, expected_mm = nan;
    Slip slip = Slip::unknown;
    std::int32_t other = -1;
  };

  void keep_doubts(const WearFit& fit) {
    // Depth expected of every doubted row, to find two that were written in each other's lines.
    std::map<std::pair<std::size_t, double>, std::vector<const DoubtedReading*>> by_visit;
    for (const DoubtedReading& d : fit.doubted) {
      const auto u = static_cast<std::size_t>(items_.items[d.item].unit);
      by_visit[{u, items_.items[d.item].readings[d.reading].time}].push_back(&d);
    }
    for (const OddUnitVisit& odd : fit.odd_visits) {
      add_doubt({.unit = static_cast<std::int32_t>(odd.unit),
                 .day = static_cast<std::int32_t>(std::floor(odd.time)),
                 .expected_mm = odd.by,
                 .slip = std::isnan(odd.by) ? Slip::other_unit : Slip::visit_off});
    }
    for (const auto& [visit, list] : by_visit) {
      for (const DoubtedReading* d : list) {
        const Source& source = items_.sources[d->item][d->reading];
        const Visit& v = fitments_.visits[source.position][source.visit];
        const double depth =
            d->channel >= 0 ? v.groove_mm[static_cast<std::size_t>(d->channel)] : mean_of(v.groove_mm);
        // What rounding and a common error of reading explain is not worth a second look.
        const double least = 1.5 * step_mm_;
        if (std::abs(depth - d->expected) < least) {
          continue;
        }
        Doubt doubt{.position = static_cast<std::int32_t>(source.position),
                    .unit = items_.items[d->item].unit,
                    .day = v.day,
                    .groove = d->channel,
                    .depth_mm = depth,
                    .expected_mm = d->expected};
        name_slip(*d, list, doubt);
        add_doubt(doubt);
      }
    }
  }

  void name_slip(const DoubtedReading& d, const std::vector<const DoubtedReading*>& visit,
                 Doubt& doubt) const {
    const double written = convert(doubt.depth_mm, Measure::millimetre, measure_);
    const double meant = convert(doubt.expected_mm, Measure::millimetre, measure_);
    const double step = info(measure_).gauge_step;
    if (d.channel < 0) {
      for (const DoubtedReading* other : visit) {
        if (other == &d || other->channel >= 0) {
          continue;
        }
        const Source& there = items_.sources[other->item][other->reading];
        const double its = mean_of(fitments_.visits[there.position][there.visit].groove_mm);
        constexpr double near_mm = 0.8;  // a step of a shop gauge
        if (std::abs(its - doubt.expected_mm) < near_mm &&
            std::abs(other->expected - doubt.depth_mm) < near_mm) {
          doubt.slip = Slip::swapped;
          doubt.other = static_cast<std::int32_t>(there.position);
          return;
        }
      }
      const double mm_per_32nd = convert(1.0, Measure::thirty_seconds, Measure::millimetre);
      const double in_mm = meant * mm_per_32nd, in_32nds = meant / mm_per_32nd;
      const double off = std::min(std::abs(written - in_mm), std::abs(written - in_32nds));
      if (off < step && std::abs(written - meant) > 1.5 * step) {
        doubt.slip = Slip::other_measure;
        return;
      }
    }
    constexpr double digit = 10.0;
    if (d.channel >= 0 && std::abs(std::abs(written - meant) - digit) < 1.5 * step) {
      doubt.slip = Slip::digit;
    }
  }

  void add_doubt(const Doubt& d) {
    Doubts& to = out_;
    to.position.push_back(d.position);
    to.unit.push_back(d.unit);
    to.day.push_back(d.day);
    to.groove.push_back(d.groove);
    to.depth_mm.push_back(d.depth_mm);
    to.expected_mm.push_back(d.expected_mm);
    to.slip.push_back(static_cast<std::uint8_t>(d.slip));
    to.other.push_back(d.other);
  }

  const WearItems& items_;
  const Fitments& fitments_;
  const Measure measure_;
  const double step_mm_;
  Doubts out_;
};

}  // namespace

Doubts find_doubts(const WearFit& fit, const WearItems& items, const Fitments& fitments, Measure measure,
                   double step_mm) {
  return Doubting(items, fitments, measure, step_mm).run(fit);
}

}  // namespace wheelend
