// The course of worn items: what they ran between readings, cut into pieces, and from it their common depth
// and one-sided wear with all derivatives.
#pragma once

#include <Eigen/Dense>
#include <cstddef>
#include <cstdint>
#include <span>
#include <utility>
#include <vector>

#include "normal.hpp"
#include "wheelend/wear_fit.hpp"

namespace wheelend::wear_fit {

using Matrix = Eigen::MatrixXd;
using Vector = Eigen::VectorXd;
using Index = Eigen::Index;

// Parameters of an item; the offsets of its channels follow.
enum : Index { p_depth, p_rate, p_strength, p_shoulder, p_one_sided, p_offsets };

// Weight of a reading whose squared error, against its variance, is `error`: Student's t with so many degrees
// of freedom (Lange, Little, Taylor 1989).
inline double student_weight(double error, double freedom) { return (freedom + 1.0) / (freedom + error); }

// What is believed of a unit: its parameters and where its axles went out of line.
struct UnitState {
  Vector x;                        // unit, axles, one-sided of axles, knots, turns of axles
  std::vector<std::int32_t> turn;  // by axle: the knot from which on it is out of line; -1: it is not
  std::vector<std::pair<double, double>>
      off;  // time of a visit, by how much its readings are off; NaN: all wrong

  // Where the parts lie.
  [[nodiscard]] Index axles() const { return static_cast<Index>(turn.size()); }
  [[nodiscard]] Index knots() const { return knot_count; }
  [[nodiscard]] static Index axle(Index a) { return 1 + a; }
  [[nodiscard]] Index one_sided(Index a) const { return 1 + axles() + a; }
  [[nodiscard]] Index knot(Index m) const { return 1 + 2 * axles() + m; }
  // Of an axle that is out of line: log rate gained; one-sided wear gained follows it.
  [[nodiscard]] Index turned(Index a) const;
  [[nodiscard]] Index size() const { return x.size(); }
  [[nodiscard]] bool is_turned(Index a, Index m) const {
    const std::int32_t t = turn[static_cast<std::size_t>(a)];
    return t >= 0 && m >= t;
  }
  Index knot_count = 1;
};

// A stretch of exposure within one knot at one place.
struct Piece {
  double exposure;
  std::int32_t knot, axle, group;
};

// Pieces of all items, one after the other. `ends` of an item: how many of its pieces lie before each
// reading, and, where it was asked for, before the exposure wanted.
class Courses {
 public:
  Courses(const std::vector<WearItem>& items, const std::vector<WearUnit>& units,
          const std::vector<double>& wanted);
  [[nodiscard]] std::span<const Piece> pieces(std::size_t i) const {
    return {pieces_.data() + first_piece_[i], first_piece_[i + 1] - first_piece_[i]};
  }
  [[nodiscard]] std::span<const std::uint32_t> ends(std::size_t i) const {
    return {ends_.data() + first_end_[i], first_end_[i + 1] - first_end_[i]};
  }

 private:
  void add(const WearItem& item, const WearUnit& unit, double wanted);
  std::vector<Piece> pieces_;
  std::vector<std::uint32_t> ends_;
  std::vector<std::size_t> first_piece_{0}, first_end_{0};
};

// Rates by place and knot that all items of a unit share.
struct UnitRates {
  UnitRates(const UnitState& state, std::span<const double> season_at_knot);
  std::vector<double> knot;          // severity and season
  std::vector<double> axle, turned;  // unit and axle; the same for an axle out of line
};

// An item at each of its readings and where it was asked for (a column each): common depth, one-sided wear
// (depth that a channel at side 1 lost beyond the common), what the latter gains per common depth lost, and
// derivatives by the item's first parameters and by the unit's.
struct ItemCourse {
  Vector common, one_sided, tilt;
  Matrix common_by_item, one_sided_by_item;  // p_offsets rows
  Matrix common_by_unit, one_sided_by_unit;
};

void follow(const WearItem& item, std::span<const Piece> pieces, std::span<const std::uint32_t> ends,
            const double* own, const UnitState& unit, const UnitRates& rates,
            const std::vector<double>& group_rate, ItemCourse& out);

}  // namespace wheelend::wear_fit
