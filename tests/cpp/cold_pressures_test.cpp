// Cold pressures: the method that a reading allows, and the state that it means. Gas-law numbers are
// computations of our own apart from the code (50 digits) of (p + pa) T_ref / T - pa with the atmosphere of
// ISO 2533.
#include "wheelend/cold_pressures.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "fleet.hpp"
#include "near.hpp"

using namespace wheelend;
using namespace wheelend::test;

namespace {

constexpr Tolerance gas_law{.relative = 1e-12};  // a dozen roundings and the pow() of the atmosphere
constexpr std::uint32_t bit(ColdNote n) { return static_cast<std::uint32_t>(n); }

// data/limits/pressure_states.csv: OS-T-03; 29 CFR 1910.177(f); 5 psi of the FMCSA survey of 2003 (trade
// press).
const std::vector<StateRule> states{
    {PressureState::flat, false, Base::sidewall_max, 50.0, Measure::percent, Sense::at_most},
    {PressureState::demount, false, Base::target, 80.0, Measure::percent, Sense::at_most},
    {PressureState::demount, true, Base::target, 80.0, Measure::percent, Sense::at_most},
    {PressureState::under, true, Base::target, -5.0, Measure::psi, Sense::less_than},
    {PressureState::over, true, Base::target, 5.0, Measure::psi, Sense::more_than}};

struct Conditions {
  double tire = missing, ambient = missing, altitude = missing;  // degF, degF, ft
};
struct Facts {
  double target = 100.0, sidewall = missing, rated_lb = missing;
};
struct Cold {
  double found, cold, deviation, percent;
  ColdMethod method;
  PressureState state;
  std::uint32_t notes;
};

ColdTable table_of(const std::vector<Row>& rows, const std::vector<Conditions>& conditions, const Facts& of,
                   const ColdOptions& options, Measure measure = Measure::psi) {
  Table table(rows, {.pressure = measure});
  table.mark_conflicts(1);
  std::vector<double> tire, ambient, altitude;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const Conditions c = i < conditions.size() ? conditions[i] : Conditions{};
    tire.push_back(c.tire);
    ambient.push_back(c.ambient);
    altitude.push_back(c.altitude);
  }
  const ColdColumns columns{.tire_temperature = {.values = tire, .measure = Measure::degree_fahrenheit},
                            .ambient = {.values = ambient, .measure = Measure::degree_fahrenheit},
                            .altitude = {.values = altitude, .measure = Measure::foot}};
  PositionColumns positions{.facts = {tractor_drive}};
  positions.target = {.values = {&of.target, 1}, .measure = measure};
  positions.sidewall_max = {.values = {&of.sidewall, 1}, .measure = measure};
  positions.rated_load = {.values = {&of.rated_lb, 1}, .measure = Measure::pound};
  return cold_pressures(table.columns, columns, positions, {}, states, options);
}

ColdOptions options(ColdMethod method = ColdMethod::none) {
  return {.as_of = 1000, .reference = temperature(70.0, Measure::degree_fahrenheit), .method = method};
}

Cold line(const ColdTable& t, std::size_t i) {
  return {t.found[i],
          t.cold[i],
          t.deviation[i],
          t.deviation_percent[i],
          static_cast<ColdMethod>(t.method[i]),
          static_cast<PressureState>(t.state[i]),
          t.notes[i]};
}
Cold one(const Row& row, const Conditions& conditions = {}, const Facts& of = {},
         ColdMethod method = ColdMethod::none) {
  return line(table_of({row}, {conditions}, of, options(method)), 0);
}
PressureState state(double found, const Facts& of = {}) { return one({.pressure = found}, {}, of).state; }

}  // namespace

// ---- methods

TEST(ColdPressures, TireTemperatureComesFirst) {
  const Cold c = one({.pressure = 100.0, .warm = 1, .speed = 50.0}, {.tire = 100.0, .ambient = 0.0},
                     {.rated_lb = 6175.0});
  EXPECT_EQ(c.method, ColdMethod::gas_law);
  EXPECT_TRUE(near(c.cold, 93.85195121542087, gas_law));  // (100 + 14.69594877551345) 529.67/559.67 - 14.696
  EXPECT_EQ(c.found, 100.0);
  EXPECT_EQ(c.notes, 0U);
}

TEST(ColdPressures, WarmWithoutTireTemperatureTakesTheFederalSubtraction) {  // 49 CFR 393.75(i)(2), table 1
  const Cold heavy =
      one({.pressure = 115.0, .warm = 1, .speed = 50.0}, {.ambient = 0.0}, {.rated_lb = 6175.0});
  EXPECT_EQ(heavy.method, ColdMethod::federal_subtraction);
  EXPECT_EQ(heavy.cold, 100.0);
  EXPECT_EQ(heavy.deviation, 0.0);
  EXPECT_EQ(one({.pressure = 84.0, .warm = 1, .speed = 45.0}, {}, {.rated_lb = 4000.0}).cold, 79.0);
  // A difference of decimals is a decimal: 110.3 - 15 is 95.3 and not 95.3 less a binary rest.
  EXPECT_EQ(one({.pressure = 110.3, .warm = 1, .speed = 50.0}, {}, {.rated_lb = 6175.0}).cold, 95.3);
}

TEST(ColdPressures, WarmOutsideTheTableIsNotGuessed) {
  for (const auto& [mph, rated] : {std::pair(65.0, 6175.0), std::pair(40.0, 6175.0),
                                   std::pair(missing, 6175.0), std::pair(50.0, missing)}) {
    const Cold c = one({.pressure = 115.0, .warm = 1, .speed = mph}, {.ambient = 70.0}, {.rated_lb = rated});
    EXPECT_EQ(c.method, ColdMethod::none);
    EXPECT_TRUE(std::isnan(c.cold));
    EXPECT_EQ(c.state, PressureState::unknown);
    EXPECT_EQ(c.notes, bit(ColdNote::warm_without_estimate));
  }
}

TEST(ColdPressures, ColdTireHasTheTemperatureOfTheAir) {
  const Cold c = one({.pressure = 100.0, .warm = 0}, {.ambient = 0.0});
  EXPECT_EQ(c.method, ColdMethod::gas_law);
  EXPECT_TRUE(near(c.cold, 117.46626147950909, gas_law));  // (100 + 14.69594877551345) 529.67/459.67 - 14.696
  EXPECT_EQ(c.notes, bit(ColdNote::from_ambient));
}

TEST(ColdPressures, WithoutTemperatureAsRead) {
  const Cold c = one({.pressure = 96.4});
  EXPECT_EQ(c.method, ColdMethod::as_read);
  EXPECT_EQ(c.cold, 96.4);
  EXPECT_EQ(c.deviation, -3.6);
  EXPECT_TRUE(near(c.percent, -3.6, roundings(2)));
  EXPECT_EQ(c.notes, bit(ColdNote::no_temperature));
}

TEST(ColdPressures, AtTheReferenceTheDecimalIsKept) {
  EXPECT_EQ(one({.pressure = 97.3}, {.tire = 70.0}).cold, 97.3);
  EXPECT_EQ(one({.pressure = 97.3}, {.tire = 70.0, .altitude = 5000.0}).cold, 97.3);
}

// One method asked for: where it is not possible nothing stands in for it.
TEST(ColdPressures, ChosenMethodOrNone) {
  const Conditions warm_air{.ambient = 40.0};
  EXPECT_EQ(one({.pressure = 90.0}, warm_air, {}, ColdMethod::as_read).cold, 90.0);
  EXPECT_EQ(one({.pressure = 90.0}, warm_air, {}, ColdMethod::as_read).notes, 0U);
  EXPECT_EQ(one({.pressure = 90.0, .warm = 1}, warm_air, {}, ColdMethod::as_read).method, ColdMethod::none);
  const Cold no_temperature = one({.pressure = 90.0}, {}, {}, ColdMethod::gas_law);
  EXPECT_EQ(no_temperature.method, ColdMethod::none);
  EXPECT_EQ(no_temperature.notes, bit(ColdNote::method_not_possible));
  const Cold not_warm =
      one({.pressure = 90.0}, warm_air, {.rated_lb = 6175.0}, ColdMethod::federal_subtraction);
  EXPECT_EQ(not_warm.method, ColdMethod::none);
  const Cold subtracted = one({.pressure = 115.0, .warm = 1, .speed = 50.0}, {.tire = 100.0},
                              {.rated_lb = 6175.0}, ColdMethod::federal_subtraction);
  EXPECT_EQ(subtracted.cold, 100.0);
}

TEST(ColdPressures, AltitudeEntersThroughTheAtmosphere) {
  // 5000 ft = 1524 m, where the atmosphere has 12.227736505661745 psi: (100 + pa) 529.67/559.67 - pa
  EXPECT_TRUE(
      near(one({.pressure = 100.0}, {.tire = 100.0, .altitude = 5000.0}).cold, 93.98425483736871, gas_law));
}

TEST(ColdPressures, OutsideTheRangeOfTheFormulasThereIsNone) {
  for (const Conditions& c : {Conditions{.tire = -41.0}, Conditions{.tire = 213.0},
                              Conditions{.tire = 60.0, .altitude = 40000.0}}) {
    const Cold cold = one({.pressure = 90.0}, c);
    EXPECT_EQ(cold.method, ColdMethod::none);
    EXPECT_EQ(cold.notes, bit(ColdNote::outside_range));
    EXPECT_EQ(cold.state, PressureState::unknown);
  }
  EXPECT_EQ(one({.pressure = 90.0}, {.tire = -40.0}).method, ColdMethod::gas_law);  // -40 degF is -40 degC
}

TEST(ColdPressures, InKilopascals) {
  const ColdTable t =
      table_of({{.pressure = 700.0}}, {{.tire = 95.0}}, {.target = 700.0},  // 95 degF = 35 degC
               {.as_of = 1000, .reference = temperature(20.0, Measure::degree_celsius)}, Measure::kilopascal);
  // (700 + 101.325) 293.15/308.15 - 101.325
  EXPECT_TRUE(near(t.cold[0], 660.993428525069, gas_law));
  EXPECT_TRUE(near(t.deviation[0], -39.006571474931, {.absolute = 700.0 * 1e-12}));
}

// ---- states

TEST(ColdPressures, StateByDistanceFromTarget) {
  EXPECT_EQ(state(100.0), PressureState::on_target);
  EXPECT_EQ(state(95.0), PressureState::on_target);  // within 5 psi, 5 included
  EXPECT_EQ(state(94.9), PressureState::under);
  EXPECT_EQ(state(105.0), PressureState::on_target);
  EXPECT_EQ(state(105.1), PressureState::over);
  EXPECT_EQ(state(95.3, {.target = 100.3}), PressureState::on_target);  // 100.3 - 5 as decimals
}

TEST(ColdPressures, StateAtExactlyEightyPercent) {  // 29 CFR 1910.177(f): "80% or less"
  EXPECT_EQ(state(80.0), PressureState::demount);
  EXPECT_EQ(state(80.1), PressureState::under);
  EXPECT_EQ(state(88.0, {.target = 110.0}), PressureState::demount);
  EXPECT_EQ(state(84.4, {.target = 105.5}), PressureState::demount);  // 0.8 x 105.5 = 84.4
  EXPECT_EQ(state(84.5, {.target = 105.5}), PressureState::under);
}

TEST(ColdPressures, StateAtExactlyFiftyPercentOfTheSidewall) {
  EXPECT_EQ(state(60.0, {.sidewall = 120.0}), PressureState::flat);
  EXPECT_EQ(state(60.1, {.sidewall = 120.0}), PressureState::demount);
  EXPECT_EQ(state(60.0), PressureState::demount);  // no sidewall marking: not known to be flat
  EXPECT_EQ(state(50.0, {.target = missing, .sidewall = 120.0}), PressureState::flat);
}

TEST(ColdPressures, FoundDecidesWhenItIsLowerThanCold) {
  // Read at 0 degF: cold pressure at 70 degF would be 94.4 psi, but 80 psi is what is in the tire.
  EXPECT_EQ(one({.pressure = 80.0}, {.tire = 0.0}).state, PressureState::demount);
}

TEST(ColdPressures, WarmReadingBelowEightyPercentNeedsNoEstimate) {
  EXPECT_EQ(one({.pressure = 79.0, .warm = 1}).state, PressureState::demount);
}

TEST(ColdPressures, WithoutTargetUnknown) {
  const Cold c = one({.pressure = 100.0}, {}, {.target = missing});
  EXPECT_EQ(c.state, PressureState::unknown);
  EXPECT_EQ(c.notes, bit(ColdNote::no_target) | bit(ColdNote::no_temperature));
  EXPECT_TRUE(std::isnan(c.deviation));
}

// ---- which inspection

TEST(ColdPressures, LastReadingUpToAsOf) {
  const std::vector<Row> rows{
      {.day = 1, .pressure = 99.0}, {.day = 5, .pressure = 98.0}, {.day = 9, .tread = {7.0}}};
  const auto last = [&rows](std::int32_t as_of) {
    ColdOptions o = options();
    o.as_of = as_of;
    return table_of(rows, {}, {}, o);
  };
  EXPECT_EQ(last(9).found, (std::vector<double>{98.0}));
  EXPECT_EQ(last(9).row, (std::vector<std::int64_t>{1}));
  EXPECT_EQ(last(4).found, (std::vector<double>{99.0}));
  EXPECT_TRUE(last(0).found.empty());
}

TEST(ColdPressures, AllReadings) {
  ColdOptions o = options();
  o.all = true;
  const std::vector<Row> rows{
      {.day = 5, .pressure = 98.0}, {.day = 1, .pressure = 99.0}, {.day = 9, .tread = {7.0}}};
  EXPECT_EQ(table_of(rows, {}, {}, o).found, (std::vector<double>{99.0, 98.0}));
}

TEST(ColdPressures, LowerOfTwoThatDisagree) {
  const Cold c = line(table_of({{.pressure = 99.0}, {.pressure = 70.0}}, {}, {}, options()), 0);
  EXPECT_EQ(c.found, 70.0);
  EXPECT_NE(c.notes & bit(ColdNote::lower_of_two), 0U);
}

TEST(ColdPressures, TireChangedSince) {
  const std::vector<Row> rows{{.day = 1, .pressure = 70.0, .tire = 1},
                              {.day = 5, .tread = {18.0}, .tire = 2}};
  const Cold c = line(table_of(rows, {}, {}, options()), 0);
  EXPECT_EQ(c.state, PressureState::unknown);
  EXPECT_NE(c.notes & bit(ColdNote::tire_changed_since), 0U);
  EXPECT_EQ(c.found, 70.0);
}

TEST(ColdPressures, DoNotDependOnTheOrderOfRows) {
  const std::vector<Row> rows{{.day = 5, .pressure = 98.0, .warm = 1, .speed = 50.0},
                              {.day = 5, .pressure = 98.0, .warm = 0},
                              {.day = 1, .pressure = 99.0},
                              {.day = 3, .pressure = 97.0, .warm = 1}};
  const auto said = [](const std::vector<Row>& in) {
    ColdOptions o = options();
    o.all = true;
    const ColdTable t = table_of(in, {}, {.rated_lb = 6175.0}, o);
    std::vector<std::string> out;
    for (std::size_t i = 0; i < t.found.size(); ++i) {
      out.push_back(std::to_string(t.found[i]) + " " + std::to_string(t.cold[i]) + " " +
                    std::to_string(t.state[i]) + " " + std::to_string(t.notes[i]));
    }
    return out;
  };
  const auto expected = said(rows);
  EXPECT_EQ(expected.size(), 3U);
  for (unsigned seed = 1; seed <= 20; ++seed) {
    EXPECT_EQ(said(shuffled(rows, seed)), expected);
  }
}
