// Events that come again at one item (a wheel position, an engine): how many have come by an age, on average,
// from items that are watched for unlike spans. Plain doubles.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

namespace wheelend {

struct MeanCount {
  double time = 0.0;
  std::int64_t at_risk = 0;  // items watched then
  double events = 0.0;       // at exactly that time
  double mean = 0.0;         // events per item by that time (mean cumulative function, Nelson 1988)
  double se = 0.0;  // robust: items are independent, events of one item need not be (Lawless, Nadeau 1995)
};

// Item i is watched over (start, end]; `count` events of item `item` at `time`. One entry per distinct time
// at which there was an event. Throws ColumnError for an item that is none, an event outside its item's span,
// a negative count, or a span that does not go forward.
std::vector<MeanCount> mean_cumulative(std::span<const double> start, std::span<const double> end,
                                       std::span<const std::int64_t> item, std::span<const double> time,
                                       std::span<const double> count);

}  // namespace wheelend
