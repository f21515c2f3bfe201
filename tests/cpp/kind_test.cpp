// What the kinds of quantities.hpp can do, and above all what they cannot. Most of it is checked by the
// compiler. Sources of factors: NIST SP 811 (2008), appendix B (inch, foot, pound, psi, bar, degree
// Fahrenheit); NIST Handbook 44, appendix C (mile). All are exact definitions unless a digit count is given.
#include "wheelend/kind.hpp"

#include <gtest/gtest.h>

#include <limits>
#include <sstream>
#include <type_traits>

#include "near.hpp"
#include "wheelend/quantities.hpp"

using namespace wheelend;
using test::near;
using test::printed_to;
using test::roundings;

namespace {

template <class... K>
struct Kinds {};

// Written out here, so that a kind that slips into the wrong group in quantities.hpp is noticed.
using Amounts = Kinds<DepthChange, PressureDifference, TemperatureDifference, Distance, Duration, Load,
                      WearRate, DailyUse>;
using Points = Kinds<TreadDepth, LiningThickness, GaugePressure, AbsolutePressure, TemperaturePoint, Odometer,
                     Altitude, Date>;
using All = Kinds<DepthChange, PressureDifference, TemperatureDifference, Distance, Duration, Load, WearRate,
                  DailyUse, TreadDepth, LiningThickness, GaugePressure, AbsolutePressure, TemperaturePoint,
                  Odometer, Altitude, Date>;

struct Nothing {};
// clang-format off
template <class K> struct DifferenceOf { using type = Nothing; };
template <> struct DifferenceOf<TreadDepth> { using type = DepthChange; };
template <> struct DifferenceOf<LiningThickness> { using type = DepthChange; };
template <> struct DifferenceOf<GaugePressure> { using type = PressureDifference; };
template <> struct DifferenceOf<AbsolutePressure> { using type = PressureDifference; };
template <> struct DifferenceOf<TemperaturePoint> { using type = TemperatureDifference; };
template <> struct DifferenceOf<Odometer> { using type = Distance; };
template <> struct DifferenceOf<Altitude> { using type = Distance; };
template <> struct DifferenceOf<Date> { using type = Duration; };
// clang-format on
template <class K>
constexpr bool is_point = !std::is_same_v<typename DifferenceOf<K>::type, Nothing>;
template <class Point, class K>
constexpr bool moves_by = std::is_same_v<typename DifferenceOf<Point>::type, K>;

// clang-format off
template <class A, class B> concept CanAdd = requires(const A& a, const B& b) { a + b; };
template <class A, class B> concept CanSubtract = requires(const A& a, const B& b) { a - b; };
template <class A, class B> concept CanMultiply = requires(const A& a, const B& b) { a * b; };
template <class A, class B> concept CanDivide = requires(const A& a, const B& b) { a / b; };
template <class A, class B> concept CanOrder = requires(const A& a, const B& b) { a < b; };
template <class A, class B> concept CanEqual = requires(const A& a, const B& b) { a == b; };
template <class A> concept CanNegate = requires(const A& a) { -a; };
template <class K, class U> concept CanBeReadIn = requires(const K& k, const U& u) { k.in(u); };
// clang-format on

template <class A, class B>
consteval bool adds_as_it_should() {
  constexpr bool should = (std::is_same_v<A, B> && !is_point<A>) || moves_by<A, B>;
  // Difference + point means the same as point + difference; whether it is offered is not ruled on here.
  return CanAdd<A, B> == should || moves_by<B, A>;
}
template <class A, class B>
consteval bool subtracts_as_it_should() {
  return CanSubtract<A, B> == (std::is_same_v<A, B> || moves_by<A, B>);
}
template <class A, class B>
consteval bool compares_as_it_should() {
  constexpr bool should = std::is_same_v<A, B>;
  return CanOrder<A, B> == should && CanEqual<A, B> == should;
}
template <class A, class B>
consteval bool converts_as_it_should() {
  constexpr bool should = std::is_same_v<A, B>;
  return std::is_convertible_v<A, B> == should && std::is_constructible_v<B, A> == should &&
         std::is_assignable_v<B&, A> == should;
}
template <class A, class B>
consteval bool divides_as_it_should() {
  constexpr bool to_ratio = std::is_same_v<A, B> && !is_point<A>;
  constexpr bool bridge =
      (std::is_same_v<A, DepthChange> && (std::is_same_v<B, Distance> || std::is_same_v<B, WearRate>)) ||
      (std::is_same_v<A, Distance> && (std::is_same_v<B, Duration> || std::is_same_v<B, DailyUse>));
  return CanDivide<A, B> == (to_ratio || bridge);
}
template <class A, class B>
consteval bool multiplies_as_it_should() {
  return CanMultiply<A, B> == (std::is_same_v<A, WearRate> && std::is_same_v<B, Distance>);
}

// Each pair of the sixteen kinds.
#define WHEELEND_EVERY_PAIR(CHECK)            \
  template <class A, class... B>              \
  consteval bool row_##CHECK(Kinds<B...>) {   \
    return (CHECK<A, B>() && ...);            \
  }                                           \
  template <class... A>                       \
  consteval bool table_##CHECK(Kinds<A...>) { \
    return (row_##CHECK<A>(All{}) && ...);    \
  }                                           \
  static_assert(table_##CHECK(All{}))
WHEELEND_EVERY_PAIR(adds_as_it_should);
WHEELEND_EVERY_PAIR(subtracts_as_it_should);
WHEELEND_EVERY_PAIR(compares_as_it_should);
WHEELEND_EVERY_PAIR(converts_as_it_should);
WHEELEND_EVERY_PAIR(divides_as_it_should);
WHEELEND_EVERY_PAIR(multiplies_as_it_should);
#undef WHEELEND_EVERY_PAIR

// Columns are cast to spans of kinds and copied as bytes: a kind must be its double and nothing else.
template <class... K>
consteval bool are_one_double(Kinds<K...>) {
  return ((sizeof(K) == sizeof(double) && alignof(K) == alignof(double) && std::is_trivially_copyable_v<K> &&
           std::is_standard_layout_v<K> && std::is_trivially_destructible_v<K>) &&
          ...);
}
static_assert(are_one_double(All{}));

// A bare number is no quantity and is compared with none.
template <class... K>
consteval bool refuse_bare_numbers(Kinds<K...>) {
  return ((!std::is_constructible_v<K, double> && !std::is_constructible_v<K, int> &&
           !std::is_convertible_v<double, K> && !std::is_assignable_v<K&, double> &&
           !std::is_convertible_v<K, double> && !std::is_constructible_v<double, K> && !CanAdd<K, double> &&
           !CanAdd<double, K> && !CanSubtract<K, double> && !CanSubtract<double, K> && !CanOrder<K, double> &&
           !CanOrder<double, K> && !CanEqual<K, double> && !CanEqual<K, int> && !CanDivide<double, K>) &&
          ...);
}
static_assert(refuse_bare_numbers(All{}));

template <class... K>
consteval bool scale(Kinds<K...>) {
  return ((CanMultiply<K, double> && CanMultiply<double, K> && CanDivide<K, double> && CanNegate<K> &&
           std::is_same_v<decltype(K{} * 2.0), K> && std::is_same_v<decltype(2.0 * K{}), K> &&
           std::is_same_v<decltype(K{} / 2.0), K> && std::is_same_v<decltype(K{} + K{}), K> &&
           std::is_same_v<decltype(K{} - K{}), K> && std::is_same_v<decltype(K{} / K{}), double>) &&
          ...);
}
static_assert(scale(Amounts{}));

template <class... K>
consteval bool only_move(Kinds<K...>) {
  return ((!CanMultiply<K, double> && !CanMultiply<double, K> && !CanDivide<K, double> && !CanNegate<K> &&
           std::is_same_v<decltype(K{} - K{}), typename DifferenceOf<K>::type> &&
           std::is_same_v<decltype(K{} + typename DifferenceOf<K>::type{}), K> &&
           std::is_same_v<decltype(K{} - typename DifferenceOf<K>::type{}), K>) &&
          ...);
}
static_assert(only_move(Points{}));

// A number comes with a unit of the right dimension, and is asked for in one.
static_assert(std::is_constructible_v<TreadDepth, decltype(4.0 * thirty_seconds)>);
static_assert(std::is_constructible_v<TreadDepth, decltype(4.0 * millimetres)>);
static_assert(!std::is_convertible_v<decltype(4.0 * thirty_seconds), TreadDepth>);
static_assert(!std::is_constructible_v<TreadDepth, decltype(4.0 * psi)>);
static_assert(!std::is_constructible_v<TreadDepth, decltype(4.0 * kelvins)>);
static_assert(!std::is_constructible_v<GaugePressure, decltype(4.0 * thirty_seconds)>);
static_assert(!std::is_constructible_v<Load, decltype(4.0 * psi)>);
static_assert(!std::is_constructible_v<WearRate, decltype(4.0 * millimetres)>);
static_assert(!std::is_constructible_v<Duration, decltype(4.0 * miles)>);
static_assert(CanBeReadIn<TreadDepth, std::remove_cv_t<decltype(inches)>>);
static_assert(!CanBeReadIn<TreadDepth, std::remove_cv_t<decltype(psi)>>);
static_assert(!CanBeReadIn<GaugePressure, std::remove_cv_t<decltype(millimetres)>>);
static_assert(!CanBeReadIn<Date, std::remove_cv_t<decltype(miles)>>);

// The bridges say their results by type.
static_assert(std::is_same_v<decltype(DepthChange{} / Distance{}), WearRate>);
static_assert(std::is_same_v<decltype(WearRate{} * Distance{}), DepthChange>);
static_assert(std::is_same_v<decltype(DepthChange{} / WearRate{}), Distance>);
static_assert(std::is_same_v<decltype(Distance{} / Duration{}), DailyUse>);
static_assert(std::is_same_v<decltype(Distance{} / DailyUse{}), Duration>);
static_assert(
    std::is_invocable_r_v<AbsolutePressure, decltype(to_absolute), GaugePressure, AbsolutePressure>);
static_assert(!std::is_invocable_v<decltype(to_absolute), GaugePressure, GaugePressure>);
static_assert(!std::is_invocable_v<decltype(to_absolute), AbsolutePressure, AbsolutePressure>);
static_assert(!std::is_invocable_v<decltype(to_gauge), GaugePressure, AbsolutePressure>);

// Usable at compile time.
static_assert(TreadDepth::from_si(0.004) > TreadDepth::from_si(0.003));
static_assert((TreadDepth::from_si(0.5) - TreadDepth::from_si(0.25)).si() == 0.25);
static_assert((Odometer::from_si(8.0) + Distance::from_si(2.0)).si() == 10.0);
static_assert(to_absolute(GaugePressure::from_si(1.0), AbsolutePressure::from_si(2.0)).si() == 3.0);

}  // namespace

TEST(Kind, IsZeroUntilGivenAValue) {
  EXPECT_EQ(TreadDepth{}.si(), 0.0);
  EXPECT_EQ(Date{}.si(), 0.0);
}

TEST(Kind, ConvertsDepths) {
  const TreadDepth steer_minimum(4.0 * thirty_seconds);
  EXPECT_TRUE(near(steer_minimum.si(), 0.003175, roundings(2)));
  EXPECT_TRUE(near(steer_minimum.in(millimetres), 3.175, roundings(4)));
  EXPECT_TRUE(near(steer_minimum.in(inches), 0.125, roundings(4)));
  EXPECT_TRUE(near(steer_minimum.in(thirty_seconds), 4.0, roundings(4)));
  EXPECT_TRUE(near(TreadDepth(32.0 * thirty_seconds).in(millimetres), 25.4, roundings(4)));
  EXPECT_TRUE(near(TreadDepth(1.0 * inches).in(thirty_seconds), 32.0, roundings(4)));
  EXPECT_TRUE(near(LiningThickness(0.25 * inches).in(millimetres), 6.35, roundings(4)));
  EXPECT_TRUE(near(DepthChange(-1.0 * millimetres).in(metres), -0.001, roundings(4)));
}

TEST(Kind, ConvertsPressures) {
  const GaugePressure p(100.0 * psi);
  // SP 811 prints 1 psi = 6.894757 kPa
  EXPECT_TRUE(near(p.in(kilopascals), 689.4757, printed_to(4)));
  // 0.45359237 kg * 9.80665 m/s2 / (0.0254 m)^2 = 8896443230521/1290320000 Pa, exact; divided out in decimals
  EXPECT_TRUE(near(p.in(pascals), 689475.72931683613367, roundings(4)));
  EXPECT_TRUE(near(p.in(bars), 6.8947572931683613367, roundings(5)));
  EXPECT_TRUE(near(p.in(psi), 100.0, roundings(4)));
  EXPECT_TRUE(near(PressureDifference(1.0 * bars).in(kilopascals), 100.0, roundings(4)));
  EXPECT_TRUE(near(AbsolutePressure(1.0 * bars).in(psi), 14.503773773020921515, roundings(5)));
}

TEST(Kind, ConvertsDistances) {
  EXPECT_TRUE(near(Distance(1.0 * miles).in(kilometres), 1.609344, roundings(4)));
  EXPECT_TRUE(near(Distance(1.0 * miles).in(feet), 5280.0, roundings(4)));
  EXPECT_TRUE(near(Odometer(100000.0 * miles).in(kilometres), 160934.4, roundings(4)));
  EXPECT_TRUE(near(Altitude(5280.0 * feet).in(metres), 1609.344, roundings(4)));
}

TEST(Kind, ConvertsLoadsTimesAndTemperatures) {
  EXPECT_TRUE(near(Load(1.0 * pounds).in(kilograms), 0.45359237, roundings(4)));
  EXPECT_TRUE(near(Load(1814.36948 * kilograms).in(pounds), 4000.0, roundings(5)));
  EXPECT_EQ(Duration(2.0 * days).si(), 172800.0);
  EXPECT_TRUE(near(TemperatureDifference(18.0 * fahrenheit_degrees).in(kelvins), 10.0, roundings(4)));
  // (70 + 459.67) 5/9 = 294.26111...
  EXPECT_TRUE(near(temperature(70.0, Measure::degree_fahrenheit).in(kelvins), 294.2611, printed_to(4)));
  EXPECT_TRUE(near(temperature(0.0, Measure::degree_celsius).in(kelvins), 273.15, roundings(2)));
  EXPECT_TRUE(
      near((temperature(50.0, Measure::degree_fahrenheit) - temperature(32.0, Measure::degree_fahrenheit))
               .in(kelvins),
           10.0, {.absolute = 2e-13}));  // two roundings of numbers near 300
}

TEST(Kind, MovesBetweenGaugeAndAbsoluteByTheAtmosphere) {
  const AbsolutePressure atmosphere = AbsolutePressure::from_si(101325.0);
  const AbsolutePressure inside = to_absolute(GaugePressure(100.0 * psi), atmosphere);
  // 101325 Pa / psi = 14.695948775513449, added to 100
  EXPECT_TRUE(near(inside.in(psi), 114.695948775513449, roundings(5)));
  EXPECT_TRUE(near(to_gauge(inside, atmosphere).in(psi), 100.0, roundings(8)));
  EXPECT_EQ(to_gauge(atmosphere, atmosphere).si(), 0.0);
}

TEST(Kind, LinksDepthDistanceAndTime) {
  // 8/32 in over 80 000 mi is 1/32 in per 10 000 mi; 10/32 in more lasts 100 000 mi
  const WearRate rate = DepthChange(8.0 * thirty_seconds) / Distance(80000.0 * miles);
  EXPECT_TRUE(near((DepthChange(10.0 * thirty_seconds) / rate).in(miles), 100000.0, roundings(8)));
  EXPECT_TRUE(near((rate * Distance(10000.0 * miles)).in(thirty_seconds), 1.0, roundings(8)));
  // 0.79375 mm over 16 093.44 km
  EXPECT_TRUE(near(rate.si(), 0.79375e-3 / 16093.44e3, roundings(8)));
  const DailyUse use = Distance(5000.0 * miles) / Duration(10.0 * days);
  EXPECT_TRUE(near((Distance(100000.0 * miles) / use).in(days), 200.0, roundings(8)));
}

TEST(Kind, OrdersItsOwnKind) {
  const TreadDepth worn(2.0 * thirty_seconds), fresh(18.0 * thirty_seconds);
  EXPECT_LT(worn, fresh);
  EXPECT_GT(fresh, worn);
  EXPECT_EQ(worn, TreadDepth(2.0 * thirty_seconds));
  EXPECT_NE(worn, fresh);
  EXPECT_EQ((fresh - worn) / DepthChange(8.0 * thirty_seconds), 2.0);
  EXPECT_EQ(-(fresh - worn), worn - fresh);
}

TEST(Kind, ComparesWithNothingWhenItHoldsNoNumber) {
  const auto unread = TreadDepth::from_si(std::numeric_limits<double>::quiet_NaN());
  EXPECT_FALSE(unread < TreadDepth{});
  EXPECT_FALSE(unread >= TreadDepth{});
  EXPECT_FALSE(unread == unread);
}

TEST(Kind, PrintsItsMeaning) {
  std::ostringstream text;
  text << GaugePressure::from_si(2500.0);
  EXPECT_EQ(text.str(), "gauge pressure 2500 SI");
}
