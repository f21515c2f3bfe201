// What the limits said, line by line, so that a test may ask for the line it means.
#pragma once

#include <gtest/gtest.h>

#include <cstddef>
#include <cstdint>
#include <optional>
#include <utility>
#include <vector>

#include "fleet.hpp"
#include "wheelend/verdict.hpp"

namespace wheelend::test {

constexpr std::uint64_t bit(Note n) { return static_cast<std::uint64_t>(n); }
inline constexpr std::int32_t long_after = 1'000'000;  // a day after every reading
inline const WheelendColumns no_wheelends;

// One line of the answer.
struct Line {
  Verdict verdict;
  Severity severity;
  double reading, bound, margin, as_read;
  Measure measure, as_read_measure;
  Sense sense;
  Level level;
  int groove;
  std::int32_t place;
  std::int32_t position;
  std::int64_t row;
  bool of_wheelend;  // whether `row` is one of the wheel-end readings
  std::int32_t fact;
  std::int32_t noted_limit;
  std::uint64_t notes;
  std::optional<VerdictTable::Against> against;

  [[nodiscard]] bool noted(Note n) const { return (notes & bit(n)) != 0; }
};

inline Line line_of(const VerdictTable& v, std::size_t i) {
  Line out{.verdict = static_cast<Verdict>(v.verdict[i]),
           .severity = static_cast<Severity>(v.severity[i]),
           .reading = v.reading[i],
           .bound = v.bound[i],
           .margin = v.margin[i],
           .as_read = v.as_read[i],
           .measure = static_cast<Measure>(v.measure[i]),
           .as_read_measure = static_cast<Measure>(v.as_read_measure[i]),
           .sense = static_cast<Sense>(v.sense[i]),
           .level = static_cast<Level>(v.level[i]),
           .groove = v.groove[i],
           .place = v.place[i],
           .position = v.position[i],
           .row = v.row[i],
           .of_wheelend = v.of_wheelend[i] == 1,
           .fact = v.fact[i],
           .noted_limit = v.noted_limit[i],
           .notes = v.notes[i],
           .against = std::nullopt};
  for (const VerdictTable::Against& a : v.against) {
    if (a.verdict == static_cast<std::int64_t>(i)) {
      out.against = a;
    }
  }
  return out;
}

// What the rows say of single tires.
inline VerdictTable judged(const Table& table, const PositionColumns& positions, const TireColumns& tires,
                           const JudgeOptions& options, const std::vector<LimitRow>& rows = federal_rows()) {
  return judge_fleet({table.columns, positions, tires, no_wheelends, facts_of(positions, tires).list}, rows,
                     options);
}

class Verdicts {
 public:
  explicit Verdicts(VerdictTable v) : v_(std::move(v)) {}
  Verdicts(const Table& table, const PositionColumns& positions, const TireColumns& tires = {},
           std::int32_t as_of = long_after, const std::vector<LimitRow>& rows = federal_rows())
      : Verdicts(judged(table, positions, tires, {.as_of = as_of}, rows)) {}

  [[nodiscard]] bool has(std::int32_t limit, std::int32_t position = 0) const {
    return !at(limit, position).empty();
  }
  // The one line of a limit at a position.
  [[nodiscard]] Line line(std::int32_t limit, std::int32_t position = 0) const {
    const std::vector<Line> found = at(limit, position);
    EXPECT_EQ(found.size(), 1U) << "limit " << limit << " at position " << position;
    return found.at(0);
  }
  [[nodiscard]] Verdict verdict(std::int32_t limit, std::int32_t position = 0) const {
    return line(limit, position).verdict;
  }
  [[nodiscard]] bool noted(Note n, std::int32_t limit, std::int32_t position = 0) const {
    return line(limit, position).noted(n);
  }
  [[nodiscard]] std::vector<Line> of(std::int32_t limit) const {
    std::vector<Line> out;
    for (std::size_t i = 0; i < v_.limit.size(); ++i) {
      if (v_.limit[i] == limit) {
        out.push_back(line_of(v_, i));
      }
    }
    return out;
  }
  [[nodiscard]] const VerdictTable& table() const { return v_; }

 private:
  [[nodiscard]] std::vector<Line> at(std::int32_t limit, std::int32_t position) const {
    std::vector<Line> out;
    for (const Line& line : of(limit)) {
      if (line.position == position) {
        out.push_back(line);
      }
    }
    return out;
  }
  VerdictTable v_;
};

}  // namespace wheelend::test
