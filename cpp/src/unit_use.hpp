// How far each unit ran and will run: its odometer track where it has one, else the middle of its kind.
#pragma once

#include <span>
#include <vector>

#include "wheelend/use.hpp"
#include "wheelend/use_model.hpp"
#include "wheelend/wear.hpp"
#include "wheelend/wear_ahead.hpp"

namespace wheelend {

class UnitUse {
 public:
  // kind_of_unit: kind of each unit, the last for a missing one. group_of_unit: the fleet's own, -1 missing.
  // Use is learned by both together.
  UnitUse(const std::vector<Track>& tracks, const std::vector<std::size_t>& kind_of_unit,
          const std::vector<std::int32_t>& group_of_unit, const WearPrior& prior);
  UnitUse(const UnitUse&) = delete;  // forecasts point to the model
  UnitUse& operator=(const UnitUse&) = delete;

  [[nodiscard]] const UseModel& model() const { return model_; }
  // Whether a unit's wear goes by its odometer: a track of at least one block.
  [[nodiscard]] bool by_distance(std::size_t u) const { return !blocks_[u].end_day.empty(); }
  // Exposure of a unit at a time: kilometres from some beginning.
  [[nodiscard]] double exposure(std::size_t u, double time) const;
  [[nodiscard]] double days_since_odometer(std::size_t u, double now) const;
  [[nodiscard]] std::int32_t group(std::size_t u) const { return group_[u]; }
  [[nodiscard]] const UseForecast& forecast(std::size_t u) const { return forecasts_[u]; }
  [[nodiscard]] Ahead ahead(std::size_t u, double now, const WearFit& fit) const;

 private:
  const std::vector<Track>& tracks_;
  std::vector<std::int32_t> group_;
  std::vector<UseBlocks> blocks_;
  UseModel model_;
  std::vector<UseForecast> forecasts_;
};

}  // namespace wheelend
