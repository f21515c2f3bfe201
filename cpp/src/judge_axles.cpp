// Verdicts on tires that run side by side: dual pairs, and the tires of one axle.
#include <algorithm>
#include <numbers>
#include <optional>

#include "judging.hpp"
#include "wheelend/pressure.hpp"

namespace wheelend {

namespace {

class JudgingAxles {
 public:
  JudgingAxles(const Fleet& fleet, const RowsByUse& use, const JudgeOptions& options,
               const std::vector<TireShown>& shown, VerdictWriter& writer)
      : fleet_(fleet), use_(use), options_(options), shown_(shown), writer_(writer) {}

  void run() {
    const PositionColumns& places = fleet_.positions;
    if (shown_.empty() || places.unit.empty() || places.side.empty() || places.dual.empty()) {
      return;  // it is not known which tires run side by side
    }
    std::map<std::pair<std::int32_t, std::int32_t>, std::vector<std::size_t>> axles;
    for (std::size_t p = 0; p < shown_.size(); ++p) {
      axles[{places.unit[p], places.facts[p].axle}].push_back(p);
    }
    for (const auto& [axle, positions] : axles) {
      judge_pairs(positions);
      judge_axle(positions);
    }
  }

 private:
  using Value = std::optional<Cell>;

  void judge_pairs(const std::vector<std::size_t>& axle) {
    for (const std::int8_t side : {std::int8_t{0}, std::int8_t{1}}) {
      const auto at = [&](Dual dual) {
        const auto found = std::find_if(axle.begin(), axle.end(), [&](std::size_t p) {
          return fleet_.positions.side[p] == side &&
                 fleet_.positions.dual[p] == static_cast<std::int8_t>(dual);
        });
        return found == axle.end() ? std::optional<std::size_t>() : std::optional(*found);
      };
      const auto outer = at(Dual::outer), inner = at(Dual::inner);
      if (outer && inner) {
        const std::vector<std::size_t> pair{*outer, *inner};
        judge_rows(use_.pair_tread, pair, Level::wheel);
        judge_rows(use_.pair_pressure, pair, Level::wheel);
        judge_rows(use_.pair_tire, pair, Level::wheel);
      }
    }
  }

  void judge_axle(const std::vector<std::size_t>& axle) {
    if (axle.size() > 1) {
      judge_rows(use_.pair_tread, axle, Level::axle);
      judge_rows(use_.pair_tire, axle, Level::axle);
    }
  }

  static bool is_of_axle(Statistic s) {
    return s == Statistic::axle_depth || s == Statistic::axle_sizes || s == Statistic::axle_constructions;
  }

  void judge_rows(const std::vector<std::int32_t>& rows, const std::vector<std::size_t>& group, Level level) {
    std::vector<std::int32_t> wanted;
    for (const std::int32_t limit : rows) {
      if (is_of_axle(writer_.row(limit).statistic) == (level == Level::axle)) {
        wanted.push_back(limit);
      }
    }
    std::vector<Applicable> found;
    writer_.collect(wanted, subject_of(group.front(), level), found);
    for (Applicable& row : found) {
      if (speaks_of_all(row, group, level) && alike(row, group)) {
        judge_row(row, group, level);
      }
    }
  }

  [[nodiscard]] Subject subject_of(std::size_t p, Level level) const {
    return {.position = static_cast<std::int32_t>(p),
            .tire = level == Level::wheel ? shown_[p].tire : -1,
            .level = level};
  }

  void judge_row(const Applicable& row, const std::vector<std::size_t>& group, Level level) {
    const Statistic statistic = writer_.row(row.limit).statistic;
    if (statistic == Statistic::axle_sizes || statistic == Statistic::axle_constructions) {
      judge_mixing(row, group, level);
    } else {
      judge_difference(row, group, level);
    }
  }

  // A row that does not speak of each tire does not compare them.
  bool speaks_of_all(Applicable& row, const std::vector<std::size_t>& group, Level level) const {
    std::vector<Applicable> of_tire;
    for (const std::size_t p : group) {
      writer_.collect({row.limit}, subject_of(p, level), of_tire);
      if (of_tire.empty()) {
        return false;
      }
      if (of_tire.front().answer.applies == Applies::unknown) {
        row.answer = of_tire.front().answer;
      }
    }
    return true;
  }

  // Where a row asks for tires of one size, maker and design (its `same` facts), others are not compared;
  // where that is not known there is no verdict.
  bool alike(Applicable& row, const std::vector<std::size_t>& group) const {
    for (const std::int32_t fact : writer_.row(row.limit).same) {
      std::int32_t first = -1;
      for (const std::size_t p : group) {
        const std::int32_t code =
            code_of(fleet_.facts[static_cast<std::size_t>(fact)], subject_of(p, Level::wheel));
        if (code < 0) {
          row.answer = {Applies::unknown, fact};
        } else if (first >= 0 && code != first) {
          return false;
        }
        first = std::max(first, code);
      }
    }
    return true;
  }

  [[nodiscard]] Of of(std::size_t p, Level level, Statistic statistic) const {
    const TireShown& shown = shown_[p];
    const bool pressure = statistic == Statistic::pair_pressure;
    const std::int64_t row = pressure ? shown.pressure_row : shown.depth_row;
    return {.subject = subject_of(p, level),
            .row = row >= 0 ? row : std::max(shown.pressure_row, shown.depth_row),
            .day = options_.as_of};
  }

  [[nodiscard]] Value value_of(std::size_t p, Statistic statistic) const {
    const auto given = [](const Cell& cell) { return cell.missing() ? Value() : Value(cell); };
    switch (statistic) {
      case Statistic::pair_pressure:
        return given(shown_[p].pressure);
      case Statistic::pair_diameter:
      case Statistic::pair_circumference:
        return round_size(shown_[p].tire, statistic == Statistic::pair_circumference);
      default:
        return given(shown_[p].depth);
    }
  }

  // A tire is measured across or round it; the one follows from the other by pi.
  [[nodiscard]] Value round_size(std::int32_t tire, bool around) const {
    if (tire < 0) {
      return std::nullopt;
    }
    const Cell wanted = cell_of(around ? fleet_.tires.circumference : fleet_.tires.diameter, tire);
    if (!wanted.missing()) {
      return wanted;
    }
    Cell other = cell_of(around ? fleet_.tires.diameter : fleet_.tires.circumference, tire);
    if (other.missing()) {
      return std::nullopt;
    }
    other.value = around ? other.value * std::numbers::pi : other.value / std::numbers::pi;
    other.text = {};
    return other;
  }

  [[nodiscard]] std::int32_t day_of(std::size_t p, Statistic statistic) const {
    return statistic == Statistic::pair_pressure ? shown_[p].pressure_day : shown_[p].depth_day;
  }

  void judge_difference(const Applicable& row, const std::vector<std::size_t>& group, Level level) {
    const Statistic statistic = writer_.row(row.limit).statistic;
    std::vector<std::pair<Cell, std::size_t>> values;
    for (const std::size_t p : group) {
      if (const Value v = value_of(p, statistic)) {
        values.emplace_back(*v, p);
      }
    }
    if (values.empty()) {
      return;
    }
    const bool of_tire = statistic == Statistic::pair_diameter || statistic == Statistic::pair_circumference;
    const bool one_day = of_tire || std::all_of(values.begin(), values.end(), [&](const auto& v) {
                           return day_of(v.second, statistic) == day_of(values.front().second, statistic);
                         });
    if (values.size() < group.size() || !one_day) {
      if (!of_tire) {
        writer_.none(of(values.front().second, level, statistic), row, bit(Note::other_not_read));
      }
      return;
    }
    const auto by_value = [](const auto& a, const auto& b) { return less(a.first, b.first); };
    const auto [low, high] = std::minmax_element(values.begin(), values.end(), by_value);
    Read read{.cell = difference(high->first, low->first),
              .against = high->first,
              .against_position = static_cast<std::int32_t>(high->second)};
    writer_.compare(of(low->second, level, statistic), row, read);
  }

  static Cell difference(const Cell& high, const Cell& low) {
    return {.value = on_nine_places(high.value - convert(low.value, low.measure, high.measure)),
            .measure = high.measure};
  }

  void judge_mixing(const Applicable& row, const std::vector<std::size_t>& axle, Level level) {
    const Fact& fact = fleet_.facts[static_cast<std::size_t>(writer_.row(row.limit).fact)];
    std::int32_t first = -1;
    std::size_t known = 0, odd = axle.front();
    bool mixed = false;
    for (const std::size_t p : axle) {
      const std::int32_t code = code_of(fact, subject_of(p, Level::wheel));
      if (code < 0) {
        continue;
      }
      ++known;
      if (first >= 0 && code != first && !mixed) {
        mixed = true;
        odd = p;
      }
      first = first < 0 ? code : first;
    }
    const Of here = of(odd, mixed ? Level::wheel : level, Statistic::axle_sizes);
    if (mixed || known == axle.size()) {
      writer_.observe(here, row, mixed);
    } else if (known > 0) {
      writer_.none(here, row, bit(Note::fact_missing), writer_.row(row.limit).fact);
    }
  }

  const Fleet& fleet_;
  const RowsByUse& use_;
  const JudgeOptions& options_;
  const std::vector<TireShown>& shown_;
  VerdictWriter& writer_;
};

}  // namespace

void judge_axles(const Fleet& fleet, const RowsByUse& use, const JudgeOptions& options,
                 const std::vector<TireShown>& shown, VerdictWriter& writer) {
  JudgingAxles(fleet, use, options, shown, writer).run();
}

}  // namespace wheelend
