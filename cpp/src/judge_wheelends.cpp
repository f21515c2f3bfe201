// Verdicts on wheel-end readings: each against the rows of its quantity, and against the other side or the
// rest of the unit where a row asks for that.
#include <algorithm>
#include <array>
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
  JudgingWheelends(const Fleet& fleet, const RowsByPosition& rows, const TireHistory& tires,
                   const RowsByUse& use, const JudgeOptions& options, VerdictWriter& writer,
                   BrakesRead& brakes)
      : fleet_(fleet),
        w_(fleet.wheelends),
        rows_(rows),
        tires_(tires),
        options_(options),
        writer_(writer),
        brakes_(brakes) {
    for (const std::int32_t limit : use.wheelend) {
      by_quantity_[writer.row(limit).quantity].push_back(limit);
    }
    const PositionColumns& places = fleet.positions;
    for (std::size_t p = 0; !fleet.readings.tire.empty() && w_.size() > 0 && p < places.facts.size(); ++p) {
      ends_[{places.unit_at(p), places.facts[p].axle, places.side_at(p)}].push_back(p);
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
      alike_by_day_.clear();
      for (std::size_t k = i; k < end; ++k) {
        alike_by_day_[w_.day[judged_[k]]].push_back(judged_[k]);
      }
      for (; i < end; ++i) {
        judge_row(judged_[i]);
      }
    }
  }

 private:
  [[nodiscard]] std::int32_t unit_of(std::size_t row) const {
    return fleet_.positions.unit_at(static_cast<std::size_t>(w_.position[row]));
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

  [[nodiscard]] bool says_something(std::size_t row) const {
    const auto given = [row](const NumberColumn* column) { return !std::isnan(column->at(row)); };
    const std::array timed{&w_.start, &w_.end, &w_.before, &w_.duration};
    return !cell_or_presence(row).missing() || std::any_of(timed.begin(), timed.end(), given);
  }

  [[nodiscard]] Cell cell_or_presence(std::size_t row) const {
    const std::int8_t present = w_.present.at(row);
    return present < 0 ? cell(row) : Cell{.value = static_cast<double>(present), .measure = Measure::yes_no};
  }

  [[nodiscard]] Of of(std::size_t row) const {
    const Level level = w_.side[row] >= 0 ? Level::wheel : (w_.axle[row] >= 0 ? Level::axle : Level::unit);
    Subject subject{.position = w_.position[row], .row = static_cast<std::int64_t>(row), .level = level};
    if (w_.dual[row] >= 0) {
      subject.tire = tire_on(row);
    } else if (level == Level::wheel) {
      name_tires_of_end(row, subject);
    }
    return {.subject = subject,
            .row = static_cast<std::int64_t>(row),
            .place = w_.place_at(row),
            .wheelend = true,
            .day = w_.day[row]};
  }

  // The tire that was at the position at the time of the reading.
  [[nodiscard]] std::int32_t tire_on(std::size_t row) const {
    return tires_.at(static_cast<std::size_t>(w_.position[row]), w_.microsecond[row]);
  }

  // The tires of the wheel end at the time of the reading, where all of them are known.
  void name_tires_of_end(std::size_t row, Subject& subject) const {
    const auto found = ends_.find({unit_of(row), w_.axle[row], w_.side[row]});
    if (found == ends_.end() || found->second.size() > 2) {
      return;
    }
    const auto tire = [&](std::size_t p) { return tires_.at(p, w_.microsecond[row]); };
    const std::int32_t first = tire(found->second.front()), last = tire(found->second.back());
    if (first >= 0 && last >= 0) {
      subject.tire = first;
      subject.other_tire = found->second.size() > 1 ? last : -1;
    }
  }

  // Whether the tire that was read is no longer there: it was taken off or another was written down, up to
  // as_of. A tire that was regrooved is still the same.
  [[nodiscard]] bool tire_changed_since(std::size_t row) const {
    const auto p = static_cast<std::size_t>(w_.position[row]);
    const ReadingColumns& readings = fleet_.readings;
    const auto last = rows_.order.begin() + rows_.start[p + 1];
    const auto later = std::upper_bound(rows_.order.begin() + rows_.start[p], last, w_.microsecond[row],
                                        [&](std::int64_t at, std::int64_t i) {
                                          return at < readings.microsecond[static_cast<std::size_t>(i)];
                                        });
    const std::int32_t tire = tire_on(row);
    return std::any_of(later, last, [&](std::int64_t r) {
      const auto i = static_cast<std::size_t>(r);
      const std::int8_t event = readings.event.at(i);
      const bool another = tire >= 0 && readings.tire_at(i) >= 0 && readings.tire_at(i) != tire;
      const bool changed = event >= 0 && event != static_cast<std::int8_t>(Event::regrooved);
      return readings.day[i] <= options_.as_of && (changed || another);
    });
  }

  // The rows that speak of a reading on its day.
  [[nodiscard]] std::vector<Applicable> rules_of(const Of& here, std::size_t row) const {
    std::vector<Applicable> rules;
    if (const auto found = by_quantity_.find(w_.quantity[row]); found != by_quantity_.end()) {
      writer_.collect(found->second, here.subject, rules);
      std::erase_if(rules, [&](const Applicable& rule) { return !writer_.in_force(here, rule.limit); });
    }
    return rules;
  }

  void judge_row(std::size_t row) {
    const Of here = of(row);
    const std::vector<Applicable> rules = rules_of(here, row);
    if (rules.empty() && says_something(row)) {
      writer_.none_speaks(here, {.cell = cell_or_presence(row)});
    }
    const bool stale = !options_.all && w_.dual[row] >= 0 && tire_changed_since(row);
    for (const Applicable& rule : rules) {
      if (stale) {
        writer_.none(here, rule, bit(Note::tire_changed_since));
        continue;
      }
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
    const Cell before = cell_of(w_.before, at);
    if (!before.missing() && !less(start, before)) {
      return say_none(here, rule, Note::first_drop_included);
    }
    if (less(start, end)) {
      return say_none(here, rule, Note::pressure_rose);
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
    return say_none(here, rule, with_first_drop ? Note::first_drop_included : Note::not_read);
  }

  Verdict say_none(const Of& here, const Applicable& rule, Note why) {
    writer_.none(here, rule, bit(why));
    return Verdict::no_verdict;
  }

  // How far beyond the limit of the set for the same quantity, in the measure of that limit. What is beyond a
  // limit that rests on memory decides no more than that limit does.
  std::optional<Verdict> judge_beyond(const Of& here, const Applicable& rule, std::size_t row,
                                      const std::vector<Applicable>& rules) {
    const Cell value = cell(row);
    if (value.missing()) {
      return std::nullopt;
    }
    const auto limit = std::find_if(rules.begin(), rules.end(), [this](const Applicable& other) {
      const LimitRow& r = writer_.row(other.limit);
      return r.statistic == Statistic::as_read && r.severity == Severity::violation &&
             r.sense == Sense::at_most && other.answer.applies == Applies::yes;
    });
    const auto bound =
        limit == rules.end() ? std::nullopt : writer_.bound_of(here, limit->limit, value.measure);
    if (!bound) {
      return say_none(here, rule, Note::no_limit_to_exceed);
    }
    const bool over = order(value, *bound) > 0;
    if (over && writer_.held_back(limit->limit)) {
      writer_.none(here, rule, Read{.notes = bit(Note::unconfirmed), .noted_limit = limit->limit});
      return Verdict::no_verdict;
    }
    const double excess = over ? convert(value.value, value.measure, bound->measure) - bound->value : 0.0;
    return writer_.compare(
        here, rule,
        {.cell = {.value = on_nine_places(excess), .measure = bound->measure}, .against = *bound});
  }

  // The same quantity at the same place on the other side of the axle, on the same day.
  [[nodiscard]] std::optional<std::size_t> other_side(std::size_t row, bool with_value) const {
    for (const std::size_t other : alike_by_day_.at(w_.day[row])) {
      if (w_.axle[other] == w_.axle[row] && w_.side[other] >= 0 && w_.side[other] != w_.side[row] &&
          w_.dual[other] == w_.dual[row] && w_.place_at(other) == w_.place_at(row) &&
          !(with_value && cell(other).missing())) {
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
    if (value.missing()) {
      return;
    }
    std::vector<double> others;
    for (const std::size_t other : alike_by_day_.at(w_.day[row])) {
      const bool same_end = w_.axle[other] == w_.axle[row] && w_.side[other] == w_.side[row];
      if (!same_end && !cell(other).missing()) {
        others.push_back(convert(cell(other).value, cell(other).measure, value.measure));
      }
    }
    if (others.empty()) {
      writer_.none(here, rule, bit(Note::rest_not_read));
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
    BrakesRead::Together& together_read = brakes_.groups[{group, options_.all ? w_.day[row] : 0}];
    const auto at = static_cast<std::int64_t>(row);
    if (together_read.row < 0 || w_.day[row] > together_read.day) {
      together_read.day = w_.day[row];
      together_read.row = at;
    } else if (w_.day[row] == together_read.day) {
      together_read.row = std::min(together_read.row, at);
    }
    double& defect = together_read.defects[{unit_of(row), w_.axle[row], w_.side[row]}];
    defect = std::max(defect, verdict == Verdict::fail ? counts : 0.0);
  }

  const Fleet& fleet_;
  const WheelendColumns& w_;
  const RowsByPosition& rows_;
  const TireHistory& tires_;
  const JudgeOptions& options_;
  VerdictWriter& writer_;
  BrakesRead& brakes_;
  std::map<std::int32_t, std::vector<std::int32_t>> by_quantity_;
  std::map<std::tuple<std::int32_t, std::int32_t, std::int8_t>, std::vector<std::size_t>> ends_;
  std::vector<std::size_t> judged_;
  std::map<std::int32_t, std::vector<std::size_t>> alike_by_day_;
};

}  // namespace

void judge_wheelends(const Fleet& fleet, const RowsByPosition& rows, const TireHistory& tires,
                     const RowsByUse& use, const JudgeOptions& options, VerdictWriter& writer,
                     BrakesRead& brakes) {
  JudgingWheelends(fleet, rows, tires, use, options, writer, brakes).run();
}

}  // namespace wheelend
