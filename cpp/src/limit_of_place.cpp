#include "limit_of_place.hpp"

#include <array>
#include <cmath>

namespace wheelend {

namespace {

// Whose limit comes first: the fleet's own, as a pull depth does; then the law's; then advice. Criteria of
// taking out of service lie behind these.
constexpr std::array<Severity, 3> in_order{Severity::own, Severity::violation, Severity::advice};

bool bounds_the_way(const LimitRow& row, bool rises) {
  switch (row.sense) {
    case Sense::within:
      return true;
    case Sense::at_most:
    case Sense::less_than:
      return rises;
    case Sense::at_least:
    case Sense::more_than:
      return !rises;
    default:
      return false;
  }
}

}  // namespace

LimitOfPlace::LimitOfPlace(const SlowAsk& ask, std::int32_t day)
    : ask_(ask), day_(day), writer_(ask.facts, ask.limits, {.as_of = day}) {
  for (std::size_t i = 0; i < ask.limits.size(); ++i) {
    const LimitRow& row = ask.limits[i];
    if (row.quantity == ask.of.quantity && row.statistic == ask.of.statistic && !row.unconfirmed &&
        bounds_the_way(row, ask.of.rises)) {
      rows_.push_back(static_cast<std::int32_t>(i));
    }
  }
}

PlaceLimit LimitOfPlace::at(const WheelendColumns& w, std::int64_t row) const {
  if (!std::isnan(ask_.limit)) {
    return {.value = ask_.limit};
  }
  const auto at = static_cast<std::size_t>(row);
  const Level level = w.side[at] >= 0 ? Level::wheel : (w.axle[at] >= 0 ? Level::axle : Level::unit);
  const Of of{.subject = {.position = w.position[at], .row = row, .level = level},
              .row = row,
              .wheelend = true,
              .day = day_};
  std::vector<Applicable> speaking;
  writer_.collect(rows_, of.subject, speaking);
  PlaceLimit out;
  for (const Severity severity : in_order) {
    for (const Applicable& rule : speaking) {
      if (writer_.row(rule.limit).severity != severity || !writer_.in_force(of, rule.limit)) {
        continue;
      }
      const double bound = rule.answer.applies == Applies::yes ? this->bound(of, rule.limit)
                                                               : std::numeric_limits<double>::quiet_NaN();
      if (std::isnan(bound)) {
        out.unknown = out.unknown < 0 ? rule.answer.fact : out.unknown;
      } else if (out.row < 0 || (ask_.of.rises ? bound < out.value : bound > out.value)) {
        out.value = bound;
        out.row = rule.limit;
      }
    }
    if (out.row >= 0) {
      return out;
    }
  }
  return out;
}

// The bound on the side that the quantity goes to; NaN where its base is not known.
double LimitOfPlace::bound(const Of& of, std::int32_t limit) const {
  const LimitRow& row = writer_.row(limit);
  if (row.sense == Sense::within) {
    const Measure written = row.amount.bound.measure;
    return convert(number_of(ask_.of.rises ? Bound{row.upper, written} : row.amount.bound), written,
                   ask_.of.measure);
  }
  const std::optional<Cell> bound = writer_.bound_of(of, limit, ask_.of.measure);
  return bound ? convert(bound->value, bound->measure, ask_.of.measure)
               : std::numeric_limits<double>::quiet_NaN();
}

}  // namespace wheelend
