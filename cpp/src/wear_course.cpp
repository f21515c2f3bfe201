#include "wear_course.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace wheelend::wear_fit {

Index UnitState::turned(Index a) const {
  Index at = 1 + 2 * axles() + knots();
  for (Index b = 0; b < a; ++b) {
    at += turn[static_cast<std::size_t>(b)] >= 0 ? 2 : 0;
  }
  return at;
}

Courses::Courses(const std::vector<WearItem>& items, const std::vector<WearUnit>& units,
                 const std::vector<double>& wanted) {
  for (std::size_t i = 0; i < items.size(); ++i) {
    add(items[i], units[static_cast<std::size_t>(items[i].unit)], wanted[i]);
    first_piece_.push_back(pieces_.size());
    first_end_.push_back(ends_.size());
  }
}

void Courses::add(const WearItem& item, const WearUnit& unit, double wanted) {
  const std::vector<double>& boundary = unit.exposure_at_boundary;
  const auto last_knot = static_cast<std::int32_t>(boundary.size()) - 2;
  const std::size_t first = pieces_.size();
  double at = std::isnan(item.begins) ? item.readings.front().exposure : item.begins;
  // Knots are searched once: exposure only grows along an item.
  auto knot = static_cast<std::int32_t>(std::upper_bound(boundary.begin() + 1, boundary.end() - 1, at) -
                                        boundary.begin()) -
              1;
  std::int32_t axle = item.axle, group = item.group;
  std::size_t move = 0;
  const auto run_to = [&](double until) {
    while (at < until) {
      double stop = until;
      const bool knot_ends = knot < last_knot && boundary[static_cast<std::size_t>(knot) + 1] < stop;
      if (knot_ends) {
        stop = boundary[static_cast<std::size_t>(knot) + 1];
      }
      const bool moves = move < item.moves.size() && item.moves[move].exposure < stop;
      if (moves) {
        stop = std::max(item.moves[move].exposure, at);
      }
      if (stop > at) {
        pieces_.push_back({stop - at, knot, axle, group});
      }
      at = stop;
      if (moves) {
        axle = item.moves[move].axle;
        group = item.moves[move].group;
        ++move;
      } else if (knot_ends) {
        ++knot;
      }
    }
    ends_.push_back(static_cast<std::uint32_t>(pieces_.size() - first));
  };
  for (const ItemReading& reading : item.readings) {
    run_to(reading.exposure);
  }
  if (!std::isnan(wanted)) {
    run_to(wanted);
  }
}

UnitRates::UnitRates(const UnitState& state, std::span<const double> season_at_knot) {
  for (Index m = 0; m < state.knots(); ++m) {
    knot.push_back(std::exp(state.x[state.knot(m)] + season_at_knot[static_cast<std::size_t>(m)]));
  }
  for (Index a = 0; a < state.axles(); ++a) {
    axle.push_back(std::exp(state.x[0] + state.x[UnitState::axle(a)]));
    const bool turns = state.turn[static_cast<std::size_t>(a)] >= 0;
    turned.push_back(turns ? axle.back() * std::exp(state.x[state.turned(a)]) : axle.back());
  }
}

namespace {

// Where an item is: common depth and its derivatives.
struct Point {
  double common = 0.0;
  double by_first = 0.0, by_wear = 0.0, by_strength = 0.0;
};

Point point_at(const WearCurve& curve, double first, double wear) {
  constexpr double step = 1e-4;
  Point p;
  p.common = curve.depth_after(first, wear);
  const double per_wear = curve.rate_at(p.common);
  p.by_first = per_wear / curve.rate_at(first);
  p.by_wear = -per_wear;
  const WearCurve stronger{curve.full, curve.strength * (1.0 + step)};
  p.by_strength = (stronger.depth_after(first, wear) - p.common) / std::log1p(step);
  return p;
}

}  // namespace

void follow(const WearItem& item, std::span<const Piece> pieces, std::span<const std::uint32_t> ends,
            const double* own, const UnitState& unit, const UnitRates& rates,
            const std::vector<double>& group_rate, ItemCourse& out) {
  const auto columns = static_cast<Index>(ends.size());
  const Index n = unit.size();
  out.common.resize(columns);
  out.one_sided.resize(columns);
  out.tilt.resize(columns);
  out.common_by_item.setZero(p_offsets, columns);
  out.one_sided_by_item.setZero(p_offsets, columns);
  out.common_by_unit.resize(n, columns);
  out.one_sided_by_unit.resize(n, columns);
  const WearCurve curve{item.full, std::exp(own[p_strength])};
  const double first = own[p_depth], own_rate = std::exp(own[p_rate]);

  double wear = 0.0;
  Vector wear_by_unit = Vector::Zero(n);
  // One-sided wear up to the beginning of the present run (the same axle in the same state), and the point
  // at which the run began. Before its first reading an item is taken to have been where it was then, unless
  // it came from another unit: then its offsets bring along what it was like.
  const bool came = item.previous >= 0;
  const double base = came ? first : item.full;
  double sided = 0.0, run_common = base;
  Eigen::Matrix<double, p_offsets, 1> sided_by_item = Eigen::Matrix<double, p_offsets, 1>::Zero();
  Eigen::Matrix<double, 3, 1> run_by_item(came ? 1.0 : 0.0, 0.0, 0.0);
  Vector sided_by_unit = Vector::Zero(n), run_by_unit = Vector::Zero(n);
  Index axle = item.axle;
  bool turned = false;
  if (!pieces.empty()) {
    axle = pieces.front().axle;
    turned = unit.is_turned(axle, pieces.front().knot);
  }
  const auto tilt = [&] {
    return unit.x[unit.one_sided(axle)] + (turned ? unit.x[unit.turned(axle) + 1] : 0.0) + own[p_one_sided];
  };
  const auto end_run = [&](const Point& p) {
    const double t = tilt(), lost = run_common - p.common;
    const Eigen::Matrix<double, 3, 1> by_item(p.by_first, p.by_wear * wear, p.by_strength);
    sided += t * lost;
    sided_by_item.head<3>() += t * (run_by_item - by_item);
    sided_by_unit += t * (run_by_unit - p.by_wear * wear_by_unit);
    sided_by_unit[unit.one_sided(axle)] += lost;
    if (turned) {
      sided_by_unit[unit.turned(axle) + 1] += lost;
    }
    run_common = p.common;
    run_by_item = by_item;
    run_by_unit = p.by_wear * wear_by_unit;
  };

  std::size_t piece = 0;
  for (Index c = 0; c < columns; ++c) {
    for (; piece < ends[static_cast<std::size_t>(c)]; ++piece) {
      const Piece& at = pieces[piece];
      const bool is_turned = unit.is_turned(at.axle, at.knot);
      if (at.axle != axle || is_turned != turned) {
        end_run(point_at(curve, first, wear));
        axle = at.axle;
        turned = is_turned;
      }
      const auto a = static_cast<std::size_t>(axle);
      const double ran = own_rate * group_rate[static_cast<std::size_t>(at.group)] *
                         (turned ? rates.turned[a] : rates.axle[a]) *
                         rates.knot[static_cast<std::size_t>(at.knot)] * at.exposure;
      wear += ran;
      wear_by_unit[0] += ran;
      wear_by_unit[UnitState::axle(axle)] += ran;
      wear_by_unit[unit.knot(at.knot)] += ran;
      if (turned) {
        wear_by_unit[unit.turned(axle)] += ran;
      }
    }
    const Point p = point_at(curve, first, wear);
    const double t = tilt(), lost = run_common - p.common;
    const Eigen::Matrix<double, 3, 1> by_item(p.by_first, p.by_wear * wear, p.by_strength);
    out.common[c] = p.common;
    out.tilt[c] = t;
    out.one_sided[c] = sided + t * lost;
    out.common_by_item.col(c).head<3>() = by_item;
    out.one_sided_by_item.col(c) = sided_by_item;
    out.one_sided_by_item.col(c).head<3>() += t * (run_by_item - by_item);
    out.one_sided_by_item(p_one_sided, c) = base - p.common;
    out.common_by_unit.col(c) = p.by_wear * wear_by_unit;
    out.one_sided_by_unit.col(c) = sided_by_unit + t * (run_by_unit - p.by_wear * wear_by_unit);
    out.one_sided_by_unit(unit.one_sided(axle), c) += lost;
    if (turned) {
      out.one_sided_by_unit(unit.turned(axle) + 1, c) += lost;
    }
  }
}

}  // namespace wheelend::wear_fit
