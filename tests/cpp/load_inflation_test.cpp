// Load and inflation. Published: two rows of a load table for 295/75R22.5 used single (105 psi 5980 lb, 110
// psi 6175 lb: trade magazine El Trailero), two rows of a weighing guide for recreational vehicles (single
// 5510 lb at 95 psi; dual pair 9380 lb at 85 psi; size not named), and the load index tables of public
// listings. Rows that are only remembered are named so. Printed digits of the power law are computations of
// our own apart from the code.
#include "wheelend/load_inflation.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <limits>
#include <span>
#include <string>
#include <vector>

#include "near.hpp"
#include "wheelend/error.hpp"

using namespace wheelend;
using test::near;
using test::printed_to;
using test::roundings;

namespace {

constexpr double nan_value = std::numeric_limits<double>::quiet_NaN();
constexpr double infinity = std::numeric_limits<double>::infinity();

Load lb(double v) { return Load(v * pounds); }
GaugePressure gauge(double p) { return GaugePressure(p * psi); }
WrittenLoad written_lb(double v) { return {v, Measure::pound}; }
WrittenPressure written_psi(double p) { return {p, Measure::psi}; }

// 295/75R22.5 load range G, used single: 6175 lb at 110 psi (El Trailero).
const TireMaximum single_maximum{gauge(110), lb(6175)};

// The same size by rows. 105 and 110 psi: El Trailero; 95 psi: the weighing guide; the others from memory.
const LoadTable single_rows{{70, 75, 80, 85, 90, 95, 100, 105, 110},
                            Measure::psi,
                            {4500, 4725, 4940, 5155, 5370, 5510, 5780, 5980, 6175},
                            Measure::pound};

// Dual: 85 psi is half of the guide's 9380 lb a pair; 80 psi is 0.91 of the single row, both from memory.
const LoadTable dual_rows{{80, 85}, Measure::psi, {4495, 4690}, Measure::pound};

double carried(double p, double exponent = radial_truck_exponent) {
  const LoadAnswer a = load_by_power_law(gauge(p), single_maximum, exponent);
  EXPECT_EQ(a.status, LoadStatus::found);
  return a.load.in(pounds);
}

double needed(double load, const TireMaximum& maximum, double exponent = radial_truck_exponent) {
  const PressureAnswer a = pressure_by_power_law(lb(load), maximum, exponent);
  EXPECT_EQ(a.status, LoadStatus::found);
  return a.pressure.in(psi);
}

// Pressure of the row chosen, or -1
double row_pressure(const LoadTable& table, WrittenLoad load) {
  const RowChoice c = required_row(table, load);
  EXPECT_EQ(c.status == LoadStatus::found, c.row >= 0);
  return c.row < 0 ? -1.0 : table.pressure[static_cast<std::size_t>(c.row)];
}

double stepped(double p, double maximum = 200.0) {
  return up_to_next_5_psi(gauge(p), gauge(maximum)).in(psi);
}

std::string refusal(const LoadTable& table) {
  try {
    (void)required_row(table, written_lb(1000));
  } catch (const ColumnError& e) {
    return e.what();
  }
  return "";
}

}  // namespace

// Power law, n = 0.7, from 6175 lb at 110 psi: one decimal. 70 psi is below 65 % of the maximum and has none.
TEST(PowerLaw, GivesTheLoadsAtEachPressure) {
  EXPECT_TRUE(near(carried(75), 4722.9, printed_to(1)));
  EXPECT_TRUE(near(carried(80), 4941.1, printed_to(1)));
  EXPECT_TRUE(near(carried(85), 5155.3, printed_to(1)));
  EXPECT_TRUE(near(carried(90), 5365.8, printed_to(1)));
  EXPECT_TRUE(near(carried(95), 5572.7, printed_to(1)));
  EXPECT_TRUE(near(carried(100), 5776.5, printed_to(1)));
  EXPECT_TRUE(near(carried(105), 5977.2, printed_to(1)));
  EXPECT_TRUE(near(carried(110), 6175.0, roundings(4)));
}

// The row of 105 psi is published, the others are remembered. The row of 95 psi is no point of the curve: it
// holds a load-index load, 63 lb below.
TEST(PowerLaw, ComesWithinFivePoundsOfTheRows) {
  for (std::size_t i = 1; i < single_rows.load.size(); ++i) {
    if (single_rows.pressure[i] != 95) {
      EXPECT_TRUE(near(carried(single_rows.pressure[i]), single_rows.load[i], {.absolute = 5.0}));
    }
  }
  EXPECT_TRUE(near(carried(95) - 5510, 63, {.absolute = 0.5}));
}

// 2.1: between the published rows the exponent is 0.690
TEST(PowerLaw, ExponentBetweenThePublishedRows) {
  const LoadTable published{{105, 110}, Measure::psi, {5980, 6175}, Measure::pound};
  const LoadAnswer between = load_in_table(published, written_psi(107.5));
  ASSERT_EQ(between.status, LoadStatus::found);
  const double exponent = std::log(between.load.in(pounds) / 5980) / std::log(107.5 / 105);
  EXPECT_TRUE(near(exponent, 0.690, printed_to(3)));
}

// L2 and L3: 6000 lb
TEST(PowerLaw, GivesTheRequiredPressure) {
  EXPECT_TRUE(near(needed(6000, single_maximum), 105.574, printed_to(3)));
  EXPECT_TRUE(near(needed(6000, single_maximum, 0.5), 103.854, printed_to(3)));
  EXPECT_TRUE(near(needed(6000, single_maximum, 0.585), 104.725, printed_to(3)));  // 1936 exponent
  EXPECT_TRUE(near(needed(6000, single_maximum, 0.8), 106.117, printed_to(3)));
  EXPECT_TRUE(near(stepped(needed(6000, single_maximum)), 110, roundings(4)));
}

// L4: 34 000 lb on the 8 tires of a tandem; L5: scaled from the dual maximum of 5675 lb it is 1.03 psi too
// low
TEST(PowerLaw, ScalesDualsFromTheSingleMaximum) {
  const double each = tire_load(written_lb(34000), 8).value;
  EXPECT_EQ(each, 4250.0);
  const double right = needed(each, in_dual_pair(single_maximum));
  const double wrong = needed(each, {gauge(110), lb(5675)});
  EXPECT_TRUE(near(right, 73.811, printed_to(3)));
  EXPECT_TRUE(near(stepped(right), 75, roundings(4)));
  EXPECT_TRUE(near(wrong, 72.777, printed_to(3)));
  EXPECT_TRUE(near(right - wrong, 1.03, printed_to(2)));
}

// 2.2: the weighing guide's 9380 lb a pair at 85 psi; the curve gives 4691.3 lb a tire, 1.3 lb off
TEST(PowerLaw, DualCurveMeetsThePublishedPair) {
  const LoadAnswer a = load_by_power_law(gauge(85), in_dual_pair(single_maximum));
  ASSERT_EQ(a.status, LoadStatus::found);
  EXPECT_TRUE(near(a.load.in(pounds), 4691.3, printed_to(1)));
  EXPECT_TRUE(near(a.load.in(pounds) - 9380.0 / 2, 1.3, printed_to(1)));
}

TEST(PowerLaw, SaysNothingOutsideItsRange) {
  const auto at = [](double p) { return load_by_power_law(gauge(p), single_maximum); };
  EXPECT_EQ(at(71.5).status, LoadStatus::found);  // 65 % of 110 psi
  EXPECT_EQ(at(71.49).status, LoadStatus::below_the_range);
  EXPECT_EQ(at(0).status, LoadStatus::below_the_range);
  EXPECT_EQ(at(110).status, LoadStatus::found);
  EXPECT_EQ(at(110.01).status, LoadStatus::over_the_maximum);
  for (const double bad : {nan_value, infinity, -1.0}) {
    EXPECT_EQ(at(bad).status, LoadStatus::no_value);
  }
  EXPECT_TRUE(std::isnan(at(71.49).load.si()));
  EXPECT_TRUE(std::isnan(at(110.01).load.si()));

  const auto of = [](double load) { return pressure_by_power_law(lb(load), single_maximum); };
  EXPECT_EQ(of(6175).status, LoadStatus::found);
  EXPECT_EQ(of(18525.0 / 3).status, LoadStatus::found);
  EXPECT_EQ(of(6175.01).status, LoadStatus::over_the_maximum);
  EXPECT_EQ(of(6175 * std::pow(0.65, 0.7)).status, LoadStatus::found);
  EXPECT_EQ(of(6175 * std::pow(0.649, 0.7)).status, LoadStatus::below_the_range);
  EXPECT_EQ(of(nan_value).status, LoadStatus::no_value);
  EXPECT_TRUE(std::isnan(of(6175.01).pressure.si()));
}

TEST(PowerLaw, RefusesWhatIsNoMaximumAndNoExponent) {
  EXPECT_THROW((void)load_by_power_law(gauge(100), {gauge(0), lb(6175)}), ColumnError);
  EXPECT_THROW((void)load_by_power_law(gauge(100), {gauge(110), lb(nan_value)}), ColumnError);
  EXPECT_THROW((void)pressure_by_power_law(lb(6000), {gauge(-110), lb(6175)}), ColumnError);
  for (const double bad : {0.0, 0.49, 1.25, nan_value}) {  // 1.25 is the inverse of 0.8
    EXPECT_THROW((void)pressure_by_power_law(lb(6000), single_maximum, bad), ColumnError);
  }
  for (const double bad : {0.0, 1.1, nan_value}) {
    EXPECT_THROW((void)in_dual_pair(single_maximum, bad), ColumnError);
  }
}

TEST(PowerLaw, RoundsUpToTheNextFive) {
  for (int p = 5; p <= 200; p += 5) {
    EXPECT_TRUE(near(stepped(p), p, roundings(4))) << p;  // a multiple stays
    EXPECT_TRUE(near(stepped(p - 0.001), p, roundings(4))) << p;
    EXPECT_TRUE(near(stepped(p - 4.999), p, roundings(4))) << p;
  }
  EXPECT_TRUE(near(stepped(118.2, 118.5), 118.5, roundings(4)));  // not above the maximum
  EXPECT_TRUE(near(up_to_next_5_psi(GaugePressure(7.0 * bars), gauge(120)).in(psi), 105, roundings(4)));
  EXPECT_TRUE(std::isnan(up_to_next_5_psi(GaugePressure::from_si(nan_value), gauge(110)).si()));
}

TEST(TireLoad, SharesAnAxleAndTakesTheHeavierEnd) {
  EXPECT_EQ(tire_load(written_lb(12000), 2).value, 6000.0);
  EXPECT_EQ(tire_load(written_lb(17940), 3).value, 5980.0);  // FMCSA guidance to 393.75: three of four tires
  EXPECT_EQ(tire_load({7500, Measure::kilogram}, 4).value, 1875.0);
  EXPECT_EQ(tire_load(written_lb(9200), written_lb(9100), 2).value, 4600.0);
  EXPECT_EQ(tire_load(written_lb(9100), written_lb(9200), 2).value, 4600.0);
  const WrittenLoad heavier = tire_load(written_lb(6000), {2730, Measure::kilogram}, 1);  // 6018.6 lb
  EXPECT_EQ(heavier.value, 2730.0);
  EXPECT_EQ(heavier.measure, Measure::kilogram);
  EXPECT_TRUE(std::isnan(tire_load(written_lb(nan_value), 2).value));
  EXPECT_TRUE(std::isnan(tire_load(written_lb(9000), written_lb(nan_value), 2).value));
  EXPECT_THROW((void)tire_load(written_lb(12000), 0), ColumnError);
  EXPECT_THROW((void)tire_load({12000, Measure::psi}, 2), MeasureError);
}

// L1 and L6. L1: 12 000 lb on a steer axle; 105 psi carries 11 960 lb, so 110 psi (El Trailero; Tire Review
// prints 110 psi for 6000 lb). L6: the weighing guide's own example.
TEST(LoadTables, GiveThePublishedChoices) {
  EXPECT_EQ(row_pressure(single_rows, tire_load(written_lb(12000), 2)), 110.0);
  EXPECT_EQ(row_pressure(single_rows, tire_load(written_lb(11960), 2)), 105.0);
  EXPECT_EQ(row_pressure(single_rows, written_lb(5400)), 95.0);
  EXPECT_EQ(row_pressure(dual_rows, tire_load(written_lb(9200), 2)), 85.0);
}

TEST(LoadTables, AreReadWithoutSlack) {
  EXPECT_EQ(row_pressure(single_rows, written_lb(5980)), 105.0);
  EXPECT_EQ(row_pressure(single_rows, written_lb(5980.0000000001)), 110.0);
  // 5980 lb = 2712.4823726 kg exactly, from 1 lb = 0.45359237 kg
  EXPECT_EQ(row_pressure(single_rows, {2712.4823726, Measure::kilogram}), 105.0);
  EXPECT_EQ(row_pressure(single_rows, {2712.4823727, Measure::kilogram}), 110.0);
  EXPECT_EQ(row_pressure(single_rows, written_lb(0)), 70.0);  // the table begins there
}

TEST(LoadTables, SayWhatTheyDoNotCover) {
  EXPECT_EQ(required_row(single_rows, written_lb(6175)).status, LoadStatus::found);
  EXPECT_EQ(required_row(single_rows, written_lb(6175.5)).status, LoadStatus::over_the_table);
  for (const double bad : {nan_value, infinity, -5.0}) {
    EXPECT_EQ(required_row(single_rows, written_lb(bad)).status, LoadStatus::no_value);
    EXPECT_EQ(load_in_table(single_rows, written_psi(bad)).status, LoadStatus::no_value);
  }
  EXPECT_EQ(load_in_table(single_rows, written_psi(69)).status, LoadStatus::under_the_table);
  EXPECT_EQ(load_in_table(single_rows, written_psi(111)).status, LoadStatus::over_the_table);
  EXPECT_EQ(pressure_between_rows(single_rows, written_lb(6176)).status, LoadStatus::over_the_table);
  EXPECT_EQ(pressure_between_rows(single_rows, written_lb(4400)).status, LoadStatus::under_the_table);
  EXPECT_THROW((void)required_row(single_rows, {5000, Measure::psi}), MeasureError);
  EXPECT_THROW((void)load_in_table(single_rows, {100, Measure::pound}), MeasureError);
}

TEST(LoadTables, HoldTheirRows) {
  for (std::size_t i = 0; i < single_rows.load.size(); ++i) {
    const double p = single_rows.pressure[i];
    const double l = single_rows.load[i];
    EXPECT_TRUE(near(load_in_table(single_rows, written_psi(p)).load.in(pounds), l, roundings(4)));
    EXPECT_TRUE(near(pressure_between_rows(single_rows, written_lb(l)).pressure.in(psi), p, roundings(4)));
    EXPECT_EQ(row_pressure(single_rows, written_lb(l)), p);
  }
}

// Geometric means: a power law through (P1, L1) and (P2, L2) passes through (sqrt(P1 P2), sqrt(L1 L2)),
// whatever its exponent. On the row of 95 psi too, where the table is not smooth.
TEST(LoadTables, FollowThePowerLawBetweenRows) {
  for (std::size_t i = 1; i < single_rows.load.size(); ++i) {
    const double p = std::sqrt(single_rows.pressure[i - 1] * single_rows.pressure[i]);
    const double l = std::sqrt(single_rows.load[i - 1] * single_rows.load[i]);
    const LoadAnswer load = load_in_table(single_rows, written_psi(p));
    const PressureAnswer pressure = pressure_between_rows(single_rows, written_lb(l));
    EXPECT_TRUE(near(load.load.in(pounds), l, {.relative = 1e-13}));  // two pow() and two log()
    EXPECT_TRUE(near(pressure.pressure.in(psi), p, {.relative = 1e-13}));
    EXPECT_EQ(row_pressure(single_rows, written_lb(l)), single_rows.pressure[i]);
  }
}

TEST(LoadTables, MayBeMetric) {
  const LoadTable metric{{700, 760}, Measure::kilopascal, {2600, 2800}, Measure::kilogram};  // invented
  EXPECT_EQ(row_pressure(metric, written_lb(5732)), 700.0);                                  // 2599.99 kg
  EXPECT_EQ(row_pressure(metric, written_lb(5733)), 760.0);                                  // 2600.45 kg
  const LoadAnswer a = load_in_table(metric, written_psi(110));                              // 758.42 kPa
  ASSERT_EQ(a.status, LoadStatus::found);
  EXPECT_GT(a.load.in(kilograms), 2600);
  EXPECT_LT(a.load.in(kilograms), 2800);
}

TEST(LoadTables, AreRefusedByRow) {
  const auto rows = [](std::vector<double> pressure, std::vector<double> load) {
    return LoadTable{std::move(pressure), Measure::psi, std::move(load), Measure::pound};
  };
  EXPECT_EQ(refusal(rows({100, 95}, {5780, 5980})),
            "load table, row 2: pressure 95 is not above 100, that of the row before");
  EXPECT_EQ(refusal(rows({100, 105}, {5780, 5780})),
            "load table, row 2: load 5780 is not above 5780, that of the row before");
  EXPECT_EQ(refusal(rows({100, 105, nan_value}, {5780, 5980, 6175})),
            "load table, row 3: pressure must be above zero");
  EXPECT_EQ(refusal(rows({100}, {0})), "load table, row 1: load must be above zero");
  EXPECT_EQ(refusal(rows({}, {})), "load table, row 1: the table has no rows");
  EXPECT_THROW((void)first_fault(rows({100, 105}, {5780})), ColumnError);
  EXPECT_EQ(first_fault(single_rows), std::nullopt);
  LoadTable wrong = single_rows;
  wrong.load_measure = Measure::psi;
  EXPECT_THROW((void)required_row(wrong, written_lb(5000)), MeasureError);
}

TEST(LoadTables, AnswerColumns) {
  const std::array loads{6000.0, 5980.0, nan_value, 6200.0, 100.0};
  std::array<std::int32_t, 5> rows{};
  std::array<std::uint8_t, 5> statuses{};
  required_rows(single_rows, loads, Measure::pound, rows, statuses);
  EXPECT_EQ(rows, (std::array<std::int32_t, 5>{8, 7, -1, -1, 0}));
  const auto code = [](LoadStatus s) { return static_cast<std::uint8_t>(s); };
  EXPECT_EQ(statuses, (std::array<std::uint8_t, 5>{
                          code(LoadStatus::found), code(LoadStatus::found), code(LoadStatus::no_value),
                          code(LoadStatus::over_the_table), code(LoadStatus::found)}));
  std::array<std::uint8_t, 4> short_one{};
  EXPECT_THROW(required_rows(single_rows, loads, Measure::pound, rows, short_one), ColumnError);
}

// ---- load index

namespace {

double kg_of(int index) { return load_of_index(index).value_or(Load::from_si(nan_value)).si(); }

// The index is a series of preferred numbers, 80 steps a decade from 45 kg: m ~ 45 * 10^(LI/80)
double off_the_series_percent(int index, double kg) {
  return (kg / (45 * std::pow(10.0, index / 80.0)) - 1) * 100;
}

// Bounds over 100..180, found apart from the code
bool within_the_series(int index, double kg) {
  const double off = off_the_series_percent(index, kg);
  return off >= -1.744 && off <= 0.537;
}

}  // namespace

// The bounds are reached at 118 and at 127, and nowhere else
TEST(LoadIndex, StaysWithinTheSeries) {
  int lowest = 100, highest = 100;
  const auto off = [](int index) { return off_the_series_percent(index, kg_of(index)); };
  for (int index = 100; index <= 180; ++index) {
    EXPECT_TRUE(within_the_series(index, kg_of(index))) << index << ": " << off(index);
    lowest = off(index) < off(lowest) ? index : lowest;
    highest = off(index) > off(highest) ? index : highest;
  }
  EXPECT_EQ(lowest, 118);
  EXPECT_EQ(highest, 127);
  EXPECT_EQ(kg_of(160), 4500.0);  // two decades above 45 kg, exact
}

// A public listing prints 165 kg for index 62, where the series and all other listings have 265: the check
// that the table above passes finds it.
TEST(LoadIndex, TheSeriesFindsAMisprint) {
  EXPECT_FALSE(within_the_series(62, 165));
  EXPECT_TRUE(within_the_series(62, 265));
}

// Sums taken from the listings, apart from the code
TEST(LoadIndex, AddsUp) {
  double sum = 0.0;
  for (int index = 100; index <= 180; ++index) {
    sum += kg_of(index);
    if (index == 175) {
      EXPECT_EQ(sum, 215550.0);
    }
  }
  EXPECT_EQ(sum, 253200.0);
}

TEST(LoadIndex, HasNoOtherIndexes) {
  EXPECT_FALSE(load_of_index(99).has_value());
  EXPECT_FALSE(load_of_index(181).has_value());
  EXPECT_FALSE(load_of_index(62).has_value());
  EXPECT_FALSE(load_of_index(-1).has_value());
  EXPECT_FALSE(load_of_index(std::numeric_limits<int>::max()).has_value());
}

TEST(LoadIndex, IsFoundFromItsLoad) {
  for (int index = 100; index <= 180; ++index) {
    EXPECT_EQ(index_of_load(Load(kg_of(index) * kilograms)), index);
  }
  EXPECT_EQ(index_of_load(Load(2799.0 * kilograms)), std::nullopt);
  EXPECT_EQ(index_of_load(Load::from_si(nan_value)), std::nullopt);
  EXPECT_EQ(index_of_load(Load(100.0 * kilograms), lb(10)), std::nullopt);
}

// Pounds moulded beside the kilograms: 6175 (El Trailero) and 5510 (weighing guide) published, the others
// from memory. No single rule of rounding gives them all.
TEST(LoadIndex, IsFoundFromThePoundsOfASidewall) {
  constexpr std::array<std::array<double, 2>, 9> marked{{{6175, 2800},
                                                         {5510, 2500},
                                                         {5675, 2575},
                                                         {6610, 3000},
                                                         {6005, 2725},
                                                         {9090, 4125},
                                                         {8270, 3750},
                                                         {9920, 4500},
                                                         {10200, 4625}}};
  for (const auto& [pounds_marked, kg] : marked) {
    const auto index = index_of_load(lb(pounds_marked), lb(10));
    ASSERT_TRUE(index.has_value()) << pounds_marked;
    EXPECT_EQ(kg_of(*index), kg);
  }
}

// Service descriptions with their loads, single and dual: EU product register
TEST(LoadIndex, GivesTheLoadsOfServiceDescriptions) {
  struct Pair {
    int single, dual;
    double single_kg, dual_kg, ratio;
  };
  for (const Pair& p : {Pair{156, 150, 4000, 3350, 0.8375}, Pair{157, 154, 4125, 3750, 0.9091},
                        Pair{152, 148, 3550, 3150, 0.8873}, Pair{150, 145, 3350, 2900, 0.8657},
                        Pair{150, 147, 3350, 3075, 0.9179}, Pair{147, 145, 3075, 2900, 0.9431}}) {
    EXPECT_EQ(kg_of(p.single), p.single_kg);
    EXPECT_EQ(kg_of(p.dual), p.dual_kg);
    EXPECT_TRUE(near(kg_of(p.dual) / kg_of(p.single), p.ratio, printed_to(4)));
  }
  EXPECT_EQ(kg_of(165), 5150.0);
}

// Public listings of the speed symbols of UN R54, agreeing
TEST(SpeedSymbol, GivesKilometresPerHour) {
  EXPECT_EQ(speed_of_symbol('J'), 100);
  EXPECT_EQ(speed_of_symbol('L'), 120);
  EXPECT_EQ(speed_of_symbol('D'), 65);
  EXPECT_EQ(speed_of_symbol('U'), 200);
  EXPECT_EQ(speed_of_symbol('H'), 210);  // between U and V
  EXPECT_EQ(speed_of_symbol('V'), 240);
  for (const char none : {'A', 'I', 'O', 'X', 'Z', 'l', '1'}) {
    EXPECT_FALSE(speed_of_symbol(none).has_value()) << none;
  }
}
