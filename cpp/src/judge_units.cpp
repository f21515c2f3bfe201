// Verdicts on whole units, and on the units that were presented together.
#include <algorithm>
#include <optional>
#include <set>
#include <utility>

#include "judging.hpp"
#include "wheelend/dates.hpp"

namespace wheelend {

namespace {

constexpr double hundred = 100.0;

class JudgingUnits {
 public:
  JudgingUnits(const Fleet& fleet, const RowsByUse& use, const JudgeOptions& options, VerdictWriter& writer)
      : fleet_(fleet), use_(use), options_(options), writer_(writer) {}

  // Calendar months from a date of the unit to the day of judging.
  void judge_dates() {
    std::set<std::int32_t> judged;
    for (std::size_t p = 0; !use_.unit.empty() && p < fleet_.positions.facts.size(); ++p) {
      if (!judged.insert(fleet_.positions.unit_at(p)).second) {
        continue;
      }
      const Of here{.subject = {.position = static_cast<std::int32_t>(p), .level = Level::unit},
                    .day = options_.as_of};
      writer_.collect(use_.unit, here.subject, rows_);
      for (const Applicable& row : rows_) {
        const Fact& fact = fleet_.facts[static_cast<std::size_t>(writer_.row(row.limit).fact)];
        const Cell date = cell_of(number_of(fact, here.subject));
        if (date.missing() || date.value > options_.as_of) {
          continue;
        }
        const double months = calendar_months(static_cast<std::int32_t>(date.value), options_.as_of);
        writer_.compare(here, row, {.cell = {.value = months, .measure = Measure::month}});
      }
    }
  }

  // Defective brakes as a share of all brakes of the units together. Brakes without verdict decide nothing
  // where they could not turn the answer.
  void judge_brakes(const BrakesRead& brakes) {
    if (!brakes.groups.empty()) {
      index_positions();
    }
    for (const auto& [key, read] : brakes.groups) {
      judge_together(key.first, read);
    }
  }

 private:
  // Positions of each unit, and units of each combination: looked up once for every group of brakes.
  void index_positions() {
    for (std::size_t p = 0; p < fleet_.positions.facts.size(); ++p) {
      positions_of_[fleet_.positions.unit_at(p)].push_back(p);
      if (!fleet_.positions.combination.empty() && fleet_.positions.combination[p] >= 0) {
        units_of_[fleet_.positions.combination[p]].insert(fleet_.positions.unit_at(p));
      }
    }
  }

  // The units whose brakes count: those that were read, and the rest of their combination.
  [[nodiscard]] std::set<std::int32_t> units_together(std::int32_t group,
                                                      const std::map<Brake, double>& defects) const {
    std::set<std::int32_t> units;
    for (const auto& [brake, defect] : defects) {
      units.insert(brake.unit);
    }
    if (const auto rest = units_of_.find(group); rest != units_of_.end()) {
      units.insert(rest->second.begin(), rest->second.end());
    }
    return units;
  }

  [[nodiscard]] bool has_engine(std::size_t p) const {
    const std::int8_t kind = fleet_.positions.facts[p].kind;
    return kind >= 0 && kind <= static_cast<std::int8_t>(UnitKind::bus);
  }

  void judge_together(std::int32_t group, const BrakesRead::Together& read) {
    double defective = 0.0;
    for (const auto& [brake, defect] : read.defects) {
      defective += defect;
    }
    // Every axle has a brake at each end, whether or not the positions list both. The verdict stands at the
    // power unit.
    constexpr double ends = 2.0;
    std::set<std::pair<std::int32_t, std::int32_t>> axles;
    std::optional<std::size_t> at;
    for (const std::int32_t unit : units_together(group, read.defects)) {
      for (const std::size_t p : positions_of_[unit]) {
        axles.insert({unit, fleet_.positions.facts[p].axle});
        at = !at || (has_engine(p) && !has_engine(*at)) ? p : *at;
      }
    }
    const double total = ends * static_cast<double>(axles.size());
    const double unread = total - static_cast<double>(read.defects.size());
    const Of here{.subject = {.position = static_cast<std::int32_t>(*at), .level = Level::unit},
                  .row = read.row,
                  .wheelend = true,
                  .day = read.day};
    writer_.collect(use_.brakes, here.subject, rows_);
    for (const Applicable& row : rows_) {
      const Cell share{.value = hundred * defective / total, .measure = Measure::percent};
      const Cell worst{.value = hundred * (defective + unread) / total, .measure = Measure::percent};
      const bool decided =
          writer_.would_pass(here, row.limit, share) == writer_.would_pass(here, row.limit, worst);
      if (decided || !writer_.would_pass(here, row.limit, share).value_or(true)) {
        writer_.compare(here, row,
                        {.cell = share, .against = Cell{.value = total, .measure = Measure::count}});
      } else {
        writer_.none(here, row, bit(Note::brakes_not_read));
      }
    }
  }

  const Fleet& fleet_;
  const RowsByUse& use_;
  const JudgeOptions& options_;
  VerdictWriter& writer_;
  std::vector<Applicable> rows_;
  std::map<std::int32_t, std::vector<std::size_t>> positions_of_;
  std::map<std::int32_t, std::set<std::int32_t>> units_of_;
};

}  // namespace

void judge_units(const Fleet& fleet, const RowsByUse& use, const JudgeOptions& options,
                 const BrakesRead& brakes, VerdictWriter& writer) {
  JudgingUnits judging(fleet, use, options, writer);
  judging.judge_dates();
  judging.judge_brakes(brakes);
}

}  // namespace wheelend
