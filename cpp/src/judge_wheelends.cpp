// Verdicts on wheel-end readings: each against the rows of its quantity, and against the other side or the
// rest of the unit where a row asks for that.
#include <algorithm>
#include <numeric>
#include <optional>
#include <tuple>

#include "judging.hpp"
#include "wheelend/pressure.hpp"

namespace wheelend {

namespace {

constexpr double seconds_per_minute = 60.0;

class JudgingWheelends {
 public:
  JudgingWheelends(const Fleet& fleet, const RowsByPosition& rows, const RowsByUse& use,
                   const JudgeOptions& options, VerdictWriter& writer, BrakesRead& brakes)
      : fleet_(fleet), w_(fleet.wheelends), rows_(rows), options_(options), writer_(writer), brakes_(brakes) {
    for (const std::int32_t limit : use.wheelend) {
      by_quantity_[writer.row(limit).quantity].push_back(limit);
    }
  }

  void run() {
    collect_judged();
    for (std::size_t i = 0; i < judged_.size();) {
      std::size_t end = i;  // readings of one quantity of one unit: they are compared with each other
      while (end < judged_.size() && unit_of(judged_[end]) == unit_of(judged_[i]) &&
             w_.quantity[judged_[end]] == w_.quantity[judged_[i]]) {
        ++end;
      }
      alike_ = std::span(judged_).subspan(i, end - i);
      for (; i < end; ++i) {
        judge_row(judged_[i]);
      }
    }
  }

 private:
  [[nodiscard]] std::int32_t unit_of(std::size_t row) const {
    const auto p = static_cast<std::size_t>(w_.position[row]);
    return fleet_.positions.unit.empty() ? w_.position[row] : fleet_.positions.unit[p];
  }
  [[nodiscard]] auto place_of(std::size_t row) const {
    return std::tuple(unit_of(row), w_.quantity[row], w_.axle[row], w_.side[row], w_.dual[row],
                      w_.place_at(row));
  }

  // What a row says, in an order that is total: without a number it stands first.
  [[nodiscard]] auto said_by(std::size_t row) const {
    const Cell read = cell(row);
    return std::tuple(w_.microsecond[row], !read.missing(), read.missing() ? 0.0 : read.value,
                      w_.measure[row], w_.present.at(row), row);
  }

  // The rows to judge: of every quantity at every place those of the last time, or all, in the order of
  // place.
  void collect_judged() {
    std::vector<std::size_t> order;
    for (std::size_t row = 0; row < w_.size(); ++row) {
      if (w_.day[row] <= options_.as_of) {
        order.push_back(row);
      }
    }
    std::sort(order.begin(), order.end(), [this](std::size_t a, std::size_t b) {
      return std::tuple(place_of(a), said_by(a)) < std::tuple(place_of(b), said_by(b));
    });
    for (std::size_t i = 0; i < order.size();) {
      std::size_t end = i;
      while (end < order.size() && place_of(order[end]) == place_of(order[i])) {
        ++end;
      }
      const std::int64_t latest = w_.microsecond[order[end - 1]];
      for (; i < end; ++i) {
        if (options_.all || w_.microsecond[order[i]] == latest) {
          judged_.push_back(order[i]);
        }
      }
    }
  }

  [[nodiscard]] Cell cell(std::size_t row) const {
    Cell out{.value = w_.value[row], .measure = static_cast<Measure>(w_.measure[row])};
    const auto found =
        std::lower_bound(w_.long_texts.begin(), w_.long_texts.end(), static_cast<std::int64_t>(row),
                         [](const auto& text, std::int64_t at) { return text.first < at; });
    if (found != w_.long_texts.end() && found->first == static_cast<std::int64_t>(row)) {
      out.text = found->second;
    }
    return out;
  }

  [[nodiscard]] Of of(std::size_t row) const {
    const Level level = w_.side[row] >= 0 ? Level::wheel : (w_.axle[row] >= 0 ? Level::axle : Level::unit);
    return {.subject = {.position = w_.position[row],
                        .tire = w_.dual[row] >= 0 ? tire_on(row) : -1,
                        .row = static_cast<std::int64_t>(row),
                        .level = level},
            .row = static_cast<std::int64_t>(row),
            .wheelend = true,
            .day = w_.day[row]};
  }

  // The tire that was at the position at the time of the reading.
  [[nodiscard]] std::int32_t tire_on(std::size_t row) const {
    const auto p = static_cast<std::size_t>(w_.position[row]);
    std::int64_t at = rows_.start[p + 1] - 1;
    while (at >= rows_.start[p] &&
           fleet_.readings.microsecond[static_cast<std::size_t>(rows_.order[static_cast<std::size_t>(at)])] >
               w_.microsecond[row]) {
      --at;
    }
    return tire_at(fleet_.readings, rows_, rows_.start[p], at, w_.microsecond[row]);
  }

  void judge_row(std::size_t row) {
    const auto found = by_quantity_.find(w_.quantity[row]);
    if (found == by_quantity_.end()) {
      return;
    }
    const Of here = of(row);
    std::vector<Applicable> rules;
    writer_.collect(found->second, here.subject, rules);
    for (const Applicable& rule : rules) {
      std::optional<Verdict> verdict;
      switch (writer_.row(rule.limit).statistic) {
        case Statistic::loss_rate:
          verdict = judge_loss(here, rule, row);
          break;
        case Statistic::beyond_limit:
          verdict = judge_beyond(here, rule, row, rules);
          break;
        case Statistic::side_to_side:
        case Statistic::sides_unlike:
          judge_sides(here, rule, row);
          break;
        case Statistic::above_the_rest:
          judge_rest(here, rule, row);
          break;
        default:
          verdict = judge_as_read(here, rule, row);
      }
      if (verdict) {
        count_brake(row, writer_.row(rule.limit).counts, *verdict);
      }
    }
  }

  std::optional<Verdict> judge_as_read(const Of& here, const Applicable& rule, std::size_t row) {
    if (writer_.row(rule.limit).sense == Sense::absent) {
      const std::int8_t present = w_.present.at(row);
      const Cell count = cell(row);
      if (present < 0 && count.missing()) {
        return std::nullopt;
      }
      return writer_.observe(here, rule, present >= 0 ? present == 1 : count.value > 0.0);
    }
    const Cell value = cell(row);
    return value.missing() ? std::nullopt : std::optional(writer_.compare(here, rule, {.cell = value}));
  }

  // Loss of pressure in a minute, from where timing began to where it ended. A drop that includes that of the
  // application says nothing of a leak.
  std::optional<Verdict> judge_loss(const Of& here, const Applicable& rule, std::size_t row) {
    const Cell value = cell(row);
    if (!value.missing()) {
      return writer_.compare(here, rule, {.cell = value});
    }
    const auto at = static_cast<std::int64_t>(row);
    const Cell start = cell_of(w_.start, at), end = cell_of(w_.end, at), took = cell_of(w_.duration, at);
    if (start.missing() || end.missing() || !(took.value > 0.0)) {  // a missing time is not above 0 either
      return not_timed(here, rule, at);
    }
    const Measure per_minute =
        start.measure == Measure::psi ? Measure::psi_per_minute : Measure::kilopascal_per_minute;
    const Measure pressure = start.measure == Measure::psi ? Measure::psi : Measure::kilopascal;
    const double lost =
        convert(start.value, start.measure, pressure) - convert(end.value, end.measure, pressure);
    const double seconds = convert(took.value, took.measure, Measure::second);
    Read read{.cell = {.value = on_nine_places(lost * seconds_per_minute / seconds), .measure = per_minute}};
    if (seconds != seconds_per_minute) {
      read.notes = bit(Note::scaled_to_a_minute);
    }
    return writer_.compare(here, rule, read);
  }

  std::optional<Verdict> not_timed(const Of& here, const Applicable& rule, std::int64_t at) {
    const auto given = [at](const NumberColumn& column) { return !cell_of(column, at).missing(); };
    const bool with_first_drop = given(w_.before) && !given(w_.start);
    if (!with_first_drop && !given(w_.start) && !given(w_.end) && !given(w_.duration)) {
      return std::nullopt;  // the row says nothing of it
    }
    writer_.none(here, rule, bit(with_first_drop ? Note::first_drop_included : Note::not_read));
    return Verdict::no_verdict;
  }

  // How far beyond the limit of the set for the same quantity, in the measure of that limit.
  std::optional<Verdict> judge_beyond(const Of& here, const Applicable& rule, std::size_t row,
                                      const std::vector<Applicable>& rules) {
    const Cell value = cell(row);
    if (value.missing()) {
      return std::nullopt;
    }
    const Applicable* limit = nullptr;
    for (const Applicable& other : rules) {
      const LimitRow& r = writer_.row(other.limit);
      if (r.statistic == Statistic::as_read && r.severity == Severity::violation &&
          r.sense == Sense::at_most && other.answer.applies == Applies::yes &&
          writer_.in_force(here, other.limit)) {
        limit = &other;
      }
    }
    if (limit == nullptr) {
      writer_.none(here, rule, bit(Note::no_limit_to_exceed));
      return Verdict::no_verdict;
    }
    const auto bound = writer_.bound_of(here, limit->limit, value.measure);
    if (!bound) {
      writer_.none(here, rule, bit(Note::no_limit_to_exceed));
      return Verdict::no_verdict;
    }
    const bool over = order(value, *bound) > 0;
    const double excess = over ? convert(value.value, value.measure, bound->measure) - bound->value : 0.0;
    return writer_.compare(
        here, rule,
        {.cell = {.value = on_nine_places(excess), .measure = bound->measure}, .against = *bound});
  }

  // The same quantity at the same place on the other side of the axle, on the same day.
  [[nodiscard]] std::optional<std::size_t> other_side(std::size_t row, bool with_value) const {
    for (const std::size_t other : alike_) {
      if (w_.axle[other] == w_.axle[row] && w_.side[other] >= 0 && w_.side[other] != w_.side[row] &&
          w_.dual[other] == w_.dual[row] && w_.place_at(other) == w_.place_at(row) &&
          w_.day[other] == w_.day[row] && !(with_value && cell(other).missing())) {
        return other;
      }
    }
    return std::nullopt;
  }

  // Once for the axle, from its left side; where that was not read, from the other, without verdict.
  void judge_sides(const Of& here, const Applicable& rule, std::size_t row) {
    const bool by_value = writer_.row(rule.limit).statistic == Statistic::side_to_side;
    if (w_.side[row] < 0 || (by_value && cell(row).missing())) {
      return;
    }
    const auto other = other_side(row, by_value);
    if (!other) {
      if (by_value) {
        writer_.none(here, rule, bit(Note::other_not_read));
      }
      return;
    }
    if (w_.side[row] != static_cast<std::int8_t>(Side::left)) {
      return;
    }
    if (by_value) {
      judge_apart(here, rule, row, *other);
    } else {
      judge_unlike(here, rule, *other);
    }
  }

  void judge_apart(const Of& here, const Applicable& rule, std::size_t row, std::size_t other) {
    const Cell a = cell(row), b = cell(other);
    const Cell in_same{.value = convert(b.value, b.measure, a.measure), .measure = a.measure};
    const double apart = order(a, b) == 0 ? 0.0 : on_nine_places(std::abs(a.value - in_same.value));
    writer_.compare(here, rule,
                    {.cell = {.value = apart, .measure = a.measure},
                     .against = in_same,
                     .against_position = w_.position[other]});
  }

  void judge_unlike(const Of& here, const Applicable& rule, std::size_t other) {
    const std::int32_t named = writer_.row(rule.limit).fact;
    const Fact& fact = fleet_.facts[static_cast<std::size_t>(named)];
    const std::int32_t a = code_of(fact, here.subject), b = code_of(fact, of(other).subject);
    if (a < 0 || b < 0) {
      writer_.none(here, rule, bit(Note::fact_missing), named);
    } else {
      writer_.observe(here, rule, a != b);
    }
  }

  // A temperature against the median of the other wheel ends of the unit, on the same day.
  void judge_rest(const Of& here, const Applicable& rule, std::size_t row) {
    const Cell value = cell(row);
    std::vector<double> others;
    for (const std::size_t other : alike_) {
      const bool same_end = w_.axle[other] == w_.axle[row] && w_.side[other] == w_.side[row];
      if (!same_end && w_.day[other] == w_.day[row] && !cell(other).missing()) {
        others.push_back(convert(cell(other).value, cell(other).measure, value.measure));
      }
    }
    if (value.missing()) {
      return;
    }
    if (others.empty()) {
      writer_.none(here, rule, bit(Note::other_not_read));
      return;
    }
    std::sort(others.begin(), others.end());
    const std::size_t half = others.size() / 2;
    const double median = others.size() % 2 == 1 ? others[half] : (others[half - 1] + others[half]) / 2.0;
    const Measure apart = value.measure == Measure::degree_fahrenheit ? Measure::fahrenheit_difference
                                                                      : Measure::celsius_difference;
    writer_.compare(here, rule, {.cell = {.value = on_nine_places(value.value - median), .measure = apart}});
  }

  // A brake is known once a row that counts defects has a verdict on it; its worst reading counts.
  void count_brake(std::size_t row, double counts, Verdict verdict) {
    if (counts == 0.0 || verdict == Verdict::no_verdict || w_.axle[row] < 0 || w_.side[row] < 0) {
      return;
    }
    const bool together = !w_.combination.empty() && w_.combination[row] >= 0;
    const std::int32_t group = together ? w_.combination[row] : -1 - unit_of(row);
    BrakesRead::Together& together_read = brakes_.groups[{group, w_.day[row]}];
    const auto at = static_cast<std::int64_t>(row);
    together_read.row = together_read.row < 0 ? at : std::min(together_read.row, at);
    double& defect = together_read.defects[{unit_of(row), w_.axle[row], w_.side[row]}];
    defect = std::max(defect, verdict == Verdict::fail ? counts : 0.0);
  }

  const Fleet& fleet_;
  const WheelendColumns& w_;
  const RowsByPosition& rows_;
  const JudgeOptions& options_;
  VerdictWriter& writer_;
  BrakesRead& brakes_;
  std::map<std::int32_t, std::vector<std::int32_t>> by_quantity_;
  std::vector<std::size_t> judged_;
  std::span<const std::size_t> alike_;
};

}  // namespace

void judge_wheelends(const Fleet& fleet, const RowsByPosition& rows, const RowsByUse& use,
                     const JudgeOptions& options, VerdictWriter& writer, BrakesRead& brakes) {
  JudgingWheelends(fleet, rows, use, options, writer, brakes).run();
}

}  // namespace wheelend
