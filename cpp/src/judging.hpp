// The rooms of judge_fleet: positions, axles, wheel ends, units. Private to the core.
#pragma once

#include <cstdint>
#include <map>
#include <utility>
#include <vector>

#include "verdict_writer.hpp"

namespace wheelend {

// Rows of the set by what they need to be judged.
struct RowsByUse {
  std::vector<std::int32_t> tread, pressure, tire;                 // of one tire
  std::vector<std::int32_t> pair_tread, pair_pressure, pair_tire;  // of a dual pair or an axle
  std::vector<std::int32_t> wheelend;
  std::vector<std::int32_t> unit, brakes;
};
RowsByUse rows_by_use(const std::vector<LimitRow>& limits);

// Readings of one position at one time.
struct Inspection {
  std::int64_t first = 0;  // into RowsByPosition::order
  std::int64_t last = 0;
};

// Which tire was at a position at a time: the last one written down since the tire was last changed. A tire
// that is taken off at that very time counts as there, unless another came.
class TireHistory {
 public:
  TireHistory(const ReadingColumns& readings, const RowsByPosition& rows);

  // The number of the tire; -1 where none is known.
  [[nodiscard]] std::int32_t at(std::size_t position, std::int64_t microsecond) const;

 private:
  struct Visit {
    std::int64_t microsecond;
    std::int32_t during, after;
  };
  [[nodiscard]] Visit visit(std::int64_t first, std::int64_t last, std::int32_t before) const;

  const ReadingColumns& readings_;
  const RowsByPosition& rows_;
  std::vector<std::int64_t> start_;  // visits of position p: visits_[start_[p]] .. visits_[start_[p + 1] - 1]
  std::vector<Visit> visits_;
};

// What one tire showed, for comparison with its neighbours. Days of what was not read are not used.
struct TireShown {
  std::int32_t tire = -1;
  Cell depth = {}, pressure = {};
  std::int32_t depth_day = 0, pressure_day = 0;
  std::int64_t depth_row = -1, pressure_row = -1;
};

// Judges every position; in `shown` what each tire showed last, if a row needs it.
void judge_positions(const Fleet& fleet, const RowsByPosition& rows, const TireHistory& tires,
                     const RowsByUse& use, const JudgeOptions& options, VerdictWriter& writer,
                     std::vector<TireShown>& shown);

void judge_axles(const Fleet& fleet, const RowsByUse& use, const JudgeOptions& options,
                 const std::vector<TireShown>& shown, VerdictWriter& writer);

// What the brakes of the fleet come to: defects of each brake, where any of its readings has a verdict.
struct Brake {
  std::int32_t unit, axle;
  std::int8_t side;
  friend auto operator<=>(const Brake&, const Brake&) = default;
};
struct BrakesRead {
  struct Together {
    std::map<Brake, double> defects;
    std::int32_t day = 0;   // the last on which one was read
    std::int64_t row = -1;  // the first row of that day
  };
  // By combination (or the unit alone: -1 - unit), and by day where every inspection is judged. Else the last
  // reading of each brake counts, whenever it was taken: one that was found defective last week still is.
  std::map<std::pair<std::int32_t, std::int32_t>, Together> groups;
};

void judge_wheelends(const Fleet& fleet, const RowsByPosition& rows, const TireHistory& tires,
                     const RowsByUse& use, const JudgeOptions& options, VerdictWriter& writer,
                     BrakesRead& brakes);

void judge_units(const Fleet& fleet, const RowsByUse& use, const JudgeOptions& options,
                 const BrakesRead& brakes, VerdictWriter& writer);

}  // namespace wheelend
