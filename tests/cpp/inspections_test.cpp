// Rows gathered by position and inspection; all expected values are read off the few rows of each case.
#include "wheelend/inspections.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "fleet.hpp"
#include "wheelend/error.hpp"

using namespace wheelend;
using namespace wheelend::test;

namespace {

using Indices = std::vector<std::int64_t>;

RowsByPosition gathered(const std::vector<Row>& rows, std::size_t positions) {
  return rows_by_position(Table(rows).columns, positions);
}

// What a row says, for comparing rows of differently ordered tables.
std::vector<std::string> said_in_order(const std::vector<Row>& rows, std::size_t positions) {
  std::vector<std::string> out;
  for (const std::int64_t i : gathered(rows, positions).order) {
    const Row& r = rows[static_cast<std::size_t>(i)];
    out.push_back(std::to_string(r.position) + "/" + std::to_string(r.day) + "/" + std::to_string(r.place) +
                  "/" + (r.tread.empty() ? "" : std::to_string(r.tread[0])) + "/" +
                  std::to_string(r.pressure) + "/" + std::to_string(r.tire) + "/" +
                  std::to_string(static_cast<int>(r.event)) + "/" + std::to_string(r.warm) + "/" +
                  std::to_string(r.speed) + "/" + std::to_string(r.inadmissible) + "/" +
                  std::to_string(r.barred));
  }
  return out;
}

}  // namespace

TEST(Inspections, RowsOfAPositionStandInTheOrderOfTime) {
  const RowsByPosition rows = gathered({{.position = 1, .day = 5},
                                        {.position = 0, .day = 9},
                                        {.position = 1, .day = 2},
                                        {.position = -1, .day = 1},
                                        {.position = 0, .day = 9, .hour = 7.5},
                                        {.position = 0, .day = 3}},
                                       3);
  EXPECT_EQ(rows.start, (Indices{0, 3, 5, 5}));  // the row that is not used is nowhere
  EXPECT_EQ(rows.order, (Indices{5, 1, 4, 2, 0}));
}

TEST(Inspections, RowsOfOneTimeStandByPlaceThenByWhatWasRead) {
  EXPECT_EQ(gathered({{.place = 2}, {.place = -1}, {.place = 1}}, 1).order, (Indices{1, 2, 0}));
  EXPECT_EQ(gathered({{.tread = {5.0}}, {.tread = {missing}}, {.tread = {3.0}}}, 1).order,
            (Indices{1, 2, 0}));
  EXPECT_EQ(gathered({{.pressure = 90.0}, {.pressure = 80.0}}, 1).order, (Indices{1, 0}));
}

// Any two rows that differ in a cell that results depend on must have an order of their own.
TEST(Inspections, OrderDoesNotDependOnTheOrderOfTheTable) {
  const std::vector<Row> rows{{.pressure = 90.0, .warm = 1},
                              {.pressure = 90.0, .warm = 0},
                              {.pressure = 90.0},
                              {.pressure = 90.0, .warm = 1, .speed = 50.0},
                              {.pressure = 90.0, .warm = 1, .speed = 60.0},
                              {.pressure = 90.0, .tire = 4},
                              {.pressure = 90.0, .tire = 4, .event = Event::fitted},
                              {.tread = {7.0}, .inadmissible = 1},
                              {.tread = {7.0}},
                              {.tread = {7.0}, .barred = 2}};
  const auto expected = said_in_order(rows, 1);
  for (unsigned seed = 1; seed <= 30; ++seed) {
    EXPECT_EQ(said_in_order(shuffled(rows, seed), 1), expected);
  }
}

TEST(Inspections, PositionThatIsNotThereIsRefused) {
  EXPECT_THROW(gathered({{.position = 2}}, 2), ColumnError);
  EXPECT_NO_THROW(gathered({{.position = 2}}, 3));
}

TEST(Inspections, NoRowsAreNoRows) {
  const RowsByPosition rows = gathered({}, 2);
  EXPECT_EQ(rows.start, (Indices{0, 0, 0}));
  EXPECT_TRUE(rows.order.empty());
}

TEST(Inspections, RepeatsOfOneKey) {
  const Table table({{.day = 1, .tread = {5.0}, .pressure = 100.0},
                     {.day = 1, .tread = {5.0}, .pressure = 100.0},    // says it again
                     {.day = 1, .tread = {4.0}, .pressure = missing},  // disagrees on the depth
                     {.day = 2, .tread = {5.0}, .pressure = 100.0}});
  const Repeats r = find_repeats(table.columns, 1);
  EXPECT_EQ(r.first, (Indices{-1, 0, 0, -1}));
  EXPECT_EQ(r.identical, (std::vector<std::uint8_t>{0, 1, 0, 0}));
  EXPECT_EQ(r.conflict, (std::vector<std::uint8_t>{conflict_depth, conflict_depth, conflict_depth, 0}));
}

TEST(Inspections, RepeatsTellWhatDisagrees) {
  const Table table({{.pressure = 100.0, .odometer = 5000.0}, {.pressure = 99.0, .odometer = 5001.0}});
  EXPECT_EQ(find_repeats(table.columns, 1).conflict[1], conflict_pressure | conflict_odometer);
}

TEST(Inspections, RowsThatAddToOneAnotherAgree) {
  const Table table({{.tread = {5.0, missing}}, {.tread = {missing, 6.0}}, {.pressure = 90.0}});
  const Repeats r = find_repeats(table.columns, 1);
  EXPECT_EQ(r.conflict, (std::vector<std::uint8_t>{0, 0, 0}));
  EXPECT_EQ(r.identical, (std::vector<std::uint8_t>{0, 0, 0}));
  EXPECT_EQ(r.first, (Indices{-1, 0, 0}));
}

TEST(Inspections, PlaceTimeAndPositionAreTheKey) {
  const Table table({{.tread = {5.0}, .place = 1},
                     {.tread = {4.0}, .place = 2},
                     {.position = 1, .tread = {4.0}, .place = 1},
                     {.tread = {4.0}, .place = 1, .hour = 2.0}});
  EXPECT_EQ(find_repeats(table.columns, 2).first, (Indices{-1, -1, -1, -1}));
}

TEST(Inspections, TireFactComesFromTheTireBeforeThePosition) {
  const std::vector<double> of_tires{110.0, missing}, of_positions{120.0, 130.0};
  const NumberColumn tires{.values = of_tires, .measure = Measure::psi},
      positions{.values = of_positions, .measure = Measure::kilopascal};
  const Table table({{.position = 1, .tire = 0}, {.position = 1, .tire = 1}, {.position = 0}});
  EXPECT_EQ(tire_fact(table.columns, 0, tires, positions).value(), 110.0);
  EXPECT_EQ(tire_fact(table.columns, 0, tires, positions).column->measure, Measure::psi);
  EXPECT_EQ(tire_fact(table.columns, 1, tires, positions).value(), 130.0);  // the tire's own cell is empty
  EXPECT_EQ(tire_fact(table.columns, 2, tires, positions).value(), 120.0);
  EXPECT_TRUE(std::isnan(tire_fact(table.columns, 2, tires, {}).value()));
}

TEST(Inspections, TireChangedByNumberOrEvent) {
  const auto changed = [](const Row& later) {
    const std::vector<Row> rows{{.day = 1, .tire = 3}, later};
    const Table table(rows);
    return tire_changed(table.columns, rows_by_position(table.columns, 1), 0, 1, 2);
  };
  EXPECT_TRUE(changed({.day = 2, .tire = 4}));
  EXPECT_FALSE(changed({.day = 2, .tire = 3}));
  EXPECT_FALSE(changed({.day = 2}));  // no number tells nothing
  for (const Event e : {Event::fitted, Event::removed, Event::rotated, Event::retreaded, Event::regrooved}) {
    EXPECT_TRUE(changed({.day = 2, .event = e}));
  }
}

TEST(Inspections, TireChangedNeedsTwoNumbers) {
  const Table table({{.day = 1}, {.day = 2, .tire = 4}});
  EXPECT_FALSE(tire_changed(table.columns, rows_by_position(table.columns, 1), 0, 1, 2));
}

TEST(Inspections, LongTextsAreFoundByRow) {
  NumberColumn column;
  column.long_texts = {{2, "3.17500000000000000001"}, {7, "1.0000000000000000000"}};
  EXPECT_EQ(column.text_at(2), "3.17500000000000000001");
  EXPECT_EQ(column.text_at(7), "1.0000000000000000000");
  for (const std::int64_t row : {0, 3, 6, 8}) {
    EXPECT_TRUE(column.text_at(row).empty());
  }
}
