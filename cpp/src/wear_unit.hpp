// One unit at a time: its items, its axles and its severity, solved together about the present estimate.
#pragma once

#include <span>
#include <vector>

#include "wear_learning.hpp"

namespace wheelend::wear_fit {

// What does not change while a fleet is fitted.
struct Fleet {
  const std::vector<WearItem>& items;
  const std::vector<WearUnit>& units;
  Index channels;
  const std::vector<double>& wanted;
  WearFitOptions options;
  Courses courses;
  std::vector<std::vector<Index>> has;  // channels of each item that were ever read
  Matrix side, outside;                 // of each channel (row) of each item (column): see Channel
  std::vector<bool> followed;           // items that are somebody's former place
  [[nodiscard]] Index item_size() const { return p_offsets + channels; }
};

// What a tire brings along to another unit.
struct Carried {
  Vector mean, variance;  // as the parameters of an item; the depth is that at its last reading
};

// What is believed at present of every item and unit.
struct Beliefs {
  Matrix own;  // a column per item
  std::vector<UnitState> units;
  std::vector<Carried> carried;  // by item; only those that are followed
};

class UnitSolver {
 public:
  explicit UnitSolver(const Fleet& fleet) : fleet_(fleet) {}

  struct Tasks {
    // Plain: all readings weigh the same, so that what a tire really does does not pass for a row of slips.
    bool plain = false, leave_slips_out = false, find_odd_visits = false, find_turns = false, finish = false;
  };
  // One step of unit u: `now` is moved on in place, but for what tires carry on, which goes to `next`.
  void step(std::size_t u, const Common& common, Beliefs& now, std::vector<Carried>& next, const Tasks& tasks,
            Sums& sums, WearFit& found, std::vector<DoubtedReading>& doubted, std::vector<OddUnitVisit>& odd);

 private:
  struct ItemWork {
    ItemCourse course;
    Matrix residual, weight;  // channel by reading; NaN: not read
    Vector prior_mean, prior_precision, gradient;
    Matrix inverse;     // of the item's own information, given the unit
    Matrix gain;        // inverse times the block shared with the unit
    Matrix covariance;  // of the item
    Matrix with_unit;   // covariance of the item with the unit
  };

  [[nodiscard]] std::size_t item_at(std::size_t k) const {
    return static_cast<std::size_t>(fleet_.units[u_].items[k]);
  }
  [[nodiscard]] const WearUnit& unit() const { return fleet_.units[u_]; }
  [[nodiscard]] Channel channel(std::size_t i, Index g) const;
  [[nodiscard]] double bias_of(const ItemReading& reading) const;
  void set_prior(std::size_t k);
  void follow_all();
  void find_residuals(std::size_t k);
  [[nodiscard]] double known_off(double time) const;
  void find_odd_visits();
  void find_turns();
  void find_turn(Index axle);
  void weigh(std::size_t k, const Tasks& tasks);
  void assemble(std::size_t k);
  void solve();
  void add_sums(Sums& sums) const;
  void add_item_sums(std::size_t k, std::vector<bool>& seen, Sums& sums) const;
  void add_reading_sums(std::size_t k, Sums& sums) const;
  [[nodiscard]] double unit_variance() const;
  [[nodiscard]] double severity_variance() const;
  void set_unit_prior();
  [[nodiscard]] Vector unit_prior_mean() const;
  [[nodiscard]] ItemState state_of(std::size_t k);
  void add_last_reading(std::size_t k, ItemState& state) const;
  [[nodiscard]] Carried carried_of(std::size_t k) const;
  [[nodiscard]] std::vector<double> shallowest_of(std::size_t k) const;
  void report_doubted(std::size_t k, std::vector<DoubtedReading>& out) const;

  const Fleet& fleet_;
  bool finish_ = false;
  std::size_t u_ = 0;
  const Common* common_ = nullptr;
  Beliefs* beliefs_ = nullptr;
  UnitState* state_ = nullptr;
  std::vector<ItemWork> work_;
  Matrix prior_, information_, covariance_;  // of the information the lower half
  Matrix rows_of_item_, rows_of_unit_;
  Vector gradient_;
  double squares_ = 0.0, rows_ = 0.0;
};

}  // namespace wheelend::wear_fit
