// The load on each tire, from the load on its axle or on its end of it. Private to the core.
#pragma once

#include <algorithm>
#include <cstdint>
#include <map>
#include <optional>
#include <tuple>
#include <vector>

#include "verdict_writer.hpp"

namespace wheelend {

class LoadSharing {
 public:
  // A tire is off where the last row of its position up to as_of is its removal.
  LoadSharing(const PositionColumns& positions, const ReadingColumns& readings, const RowsByPosition& rows,
              std::int32_t as_of)
      : positions_(positions) {
    if (!positions.axle_load.given() && !positions.end_load.given()) {
      return;
    }
    on_.assign(positions.facts.size(), true);
    for (std::size_t p = 0; p < on_.size(); ++p) {
      for (std::int64_t i = rows.start[p]; i < rows.start[p + 1]; ++i) {
        const auto row = static_cast<std::size_t>(rows.order[static_cast<std::size_t>(i)]);
        if (readings.day[row] <= as_of) {
          on_[p] = readings.event.at(row) != static_cast<std::int8_t>(Event::removed);
        }
      }
      End& end = ends_[end_of(p, positions.side_at(p))];
      const std::int8_t dual = positions.dual_at(p);
      end.outer += dual == static_cast<std::int8_t>(Dual::outer) ? 1 : 0;
      end.inner += dual == static_cast<std::int8_t>(Dual::inner) ? 1 : 0;
      end.on += on_[p] ? 1 : 0;
      ++end.all;
    }
  }

  // What the tire at a position carries: the load on its end of the axle over the tires on that end (each end
  // carries half of the axle where only that was weighed). Nothing where no load is given or the tire is off;
  // without a value where tires of the axle are not in the positions, since then nobody knows what shares it.
  [[nodiscard]] std::optional<Read> on_tire(std::size_t p) const {
    const bool weighed = !std::isnan(positions_.end_load.at(p));
    Cell load = cell_of(weighed ? positions_.end_load : positions_.axle_load, static_cast<std::int64_t>(p));
    if (load.missing() || !on_[p]) {
      return std::nullopt;
    }
    const End here = end(p, positions_.side_at(p));
    const bool other_is_there = weighed || end(p, other(positions_.side_at(p))).complete();
    if (positions_.side_at(p) < 0 || !here.complete() || !other_is_there) {
      return Read{.notes = bit(Note::positions_incomplete)};
    }
    const int sharing = here.on * (weighed ? 1 : 2);
    if (sharing > 1) {
      load.value = on_nine_places(load.value / sharing);
      load.text = {};
    }
    return Read{.cell = load, .notes = here.on < here.all ? bit(Note::tires_missing) : 0};
  }

 private:
  struct End {
    int outer = 0, inner = 0, on = 0, all = 0;
    [[nodiscard]] bool complete() const { return all > 0 && outer == inner; }
  };
  using EndKey = std::tuple<std::int32_t, std::int32_t, std::int8_t>;  // unit, axle, side

  static std::int8_t other(std::int8_t side) {
    return static_cast<std::int8_t>(side == static_cast<std::int8_t>(wheelend::Side::left)
                                        ? wheelend::Side::right
                                        : wheelend::Side::left);
  }
  [[nodiscard]] EndKey end_of(std::size_t p, std::int8_t side) const {
    return {positions_.unit_at(p), positions_.facts[p].axle, side};
  }
  [[nodiscard]] End end(std::size_t p, std::int8_t side) const {
    const auto found = ends_.find(end_of(p, side));
    return found == ends_.end() ? End{} : found->second;
  }

  const PositionColumns& positions_;
  std::vector<bool> on_;
  std::map<EndKey, End> ends_;
};

}  // namespace wheelend
