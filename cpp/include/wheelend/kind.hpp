// Kind: one double with a dimension (checked by Boost.Units) and a meaning (checked by a tag).
//
// Dimensions alone cannot tell a tread depth from a lining thickness, and Boost.Units hides forbidden
// assignments from `requires`; this small class mends both. A Kind is trivially copyable and is one double,
// held in the unit `Unit` of Boost.Units.
//
// A tag says what the kind is:
//   name        text for people
//   difference  only for points (gauge pressure, date, temperature): the kind of the distance between two of
//   them
// Points subtract to their difference and move by it; they do not add and do not scale. All other kinds are
// amounts: they add, subtract, scale, and divide to a bare ratio.
#pragma once

#include <boost/units/conversion.hpp>
#include <boost/units/get_dimension.hpp>
#include <boost/units/quantity.hpp>
#include <compare>
#include <concepts>
#include <ostream>
#include <type_traits>

namespace wheelend {

template <class Tag>
concept PointTag = requires { typename Tag::difference; };

template <class A, class B>
concept SameDimension = std::same_as<typename boost::units::get_dimension<A>::type,
                                     typename boost::units::get_dimension<B>::type>;

// A temperature is not moved to another unit by a factor: its tag allows its own unit only.
template <class Tag, class U, class Unit>
concept UnitOf =
    SameDimension<U, Unit> && (std::same_as<U, Unit> || !requires { typename Tag::own_unit_only; });

template <class Tag, class Unit>
class Kind {
 public:
  using tag = Tag;
  using unit = Unit;

  constexpr Kind() = default;

  // A number always comes with its unit: TreadDepth(4.0 * thirty_seconds).
  template <class U>
    requires UnitOf<Tag, U, Unit>
  explicit constexpr Kind(const boost::units::quantity<U, double>& q)
      : value_(boost::units::quantity<Unit, double>(q).value()) {}

  // The number in a named unit: depth.in(millimetres).
  template <class U>
    requires UnitOf<Tag, U, Unit>
  [[nodiscard]] constexpr double in(const U& /*unit*/) const {
    return boost::units::quantity<U, double>(boost::units::quantity<Unit, double>::from_value(value_))
        .value();
  }

  // For kernels that hold the column in the kind's own unit.
  static constexpr Kind from_si(double v) {
    Kind k;
    k.value_ = v;
    return k;
  }
  [[nodiscard]] constexpr double si() const { return value_; }

  friend constexpr auto operator<=>(const Kind&, const Kind&) = default;

  // amounts
  friend constexpr Kind operator+(Kind a, Kind b)
    requires(!PointTag<Tag>)
  {
    return from_si(a.value_ + b.value_);
  }
  friend constexpr Kind operator-(Kind a, Kind b)
    requires(!PointTag<Tag>)
  {
    return from_si(a.value_ - b.value_);
  }
  friend constexpr Kind operator-(Kind a)
    requires(!PointTag<Tag>)
  {
    return from_si(-a.value_);
  }
  friend constexpr Kind operator*(Kind a, double s)
    requires(!PointTag<Tag>)
  {
    return from_si(a.value_ * s);
  }
  friend constexpr Kind operator*(double s, Kind a)
    requires(!PointTag<Tag>)
  {
    return from_si(s * a.value_);
  }
  friend constexpr Kind operator/(Kind a, double s)
    requires(!PointTag<Tag>)
  {
    return from_si(a.value_ / s);
  }
  friend constexpr double operator/(Kind a, Kind b)
    requires(!PointTag<Tag>)
  {
    return a.value_ / b.value_;
  }

  friend std::ostream& operator<<(std::ostream& os, Kind k) {
    return os << Tag::name << ' ' << k.value_ << " SI";
  }

 private:
  double value_ = 0.0;
};

// points
template <PointTag Tag, class U>
constexpr typename Tag::difference operator-(Kind<Tag, U> a, Kind<Tag, U> b) {
  return Tag::difference::from_si(a.si() - b.si());
}
template <PointTag Tag, class U>
constexpr Kind<Tag, U> operator+(Kind<Tag, U> a, typename Tag::difference d) {
  return Kind<Tag, U>::from_si(a.si() + d.si());
}
template <PointTag Tag, class U>
constexpr Kind<Tag, U> operator-(Kind<Tag, U> a, typename Tag::difference d) {
  return Kind<Tag, U>::from_si(a.si() - d.si());
}

}  // namespace wheelend
