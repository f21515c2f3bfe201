// What the tread readings of one inspection come to. Private to the core.
#pragma once

#include <optional>
#include <vector>

#include "judging.hpp"

namespace wheelend {

struct TreadFacts {
  bool read = false;
  std::optional<Cell> lowest = std::nullopt;         // admissible grooves with an indicator
  std::optional<Cell> lowest_of_all = std::nullopt;  // every groove, indicator or not
  std::vector<Cell> lowest_by_place = {};            // sorted
  std::vector<Cell> pair_by_place = {};  // the deeper groove of each place's lowest adjacent pair, sorted
  std::optional<Cell> best_groove = std::nullopt;  // of the lowest of each groove round the tire, the highest
  std::optional<Cell> best_band =
      std::nullopt;  // lowest groove of the best band; only where grooves are placed
  Notes notes = 0;
};

class TreadReader {
 public:
  TreadReader(const ReadingColumns& readings, const RowsByPosition& rows)
      : readings_(readings), rows_(rows) {}

  TreadFacts of(const Inspection& inspection);

 private:
  bool add_row(std::int64_t row, std::int32_t place, TreadFacts& facts);
  void add_place(TreadFacts& facts);
  void add_bands(std::int32_t across, TreadFacts& facts) const;
  [[nodiscard]] bool counts_at_place(std::size_t g) const;
  [[nodiscard]] std::size_t row_at(std::int64_t i) const {
    return static_cast<std::size_t>(rows_.order[static_cast<std::size_t>(i)]);
  }

  const ReadingColumns& readings_;
  const RowsByPosition& rows_;
  std::vector<std::optional<Cell>> grooves_;       // of the place at hand
  std::vector<std::optional<Cell>> lowest_round_;  // of each groove, round the tire
  std::uint64_t bars_ = 0;                         // grooves that carry an indicator, at the place at hand
};

}  // namespace wheelend
