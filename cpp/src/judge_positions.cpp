// Verdicts on single tires: tread, pressure, and facts of the tire itself.
#include <algorithm>
#include <optional>

#include "judge_loads.hpp"
#include "judging.hpp"
#include "tread_facts.hpp"
#include "wheelend/dates.hpp"
#include "wheelend/pressure.hpp"

namespace wheelend {

namespace {

class Judging {
 public:
  Judging(const Fleet& fleet, const RowsByPosition& rows, const TireHistory& history, const RowsByUse& use,
          const JudgeOptions& options, VerdictWriter& writer, std::vector<TireShown>& shown)
      : readings_(fleet.readings),
        positions_(fleet.positions),
        tires_(fleet.tires),
        rows_(rows),
        history_(history),
        use_(use),
        options_(options),
        writer_(writer),
        shown_(shown),
        tread_(fleet.readings, rows),
        loads_(fleet.positions, fleet.readings, rows, options.as_of),
        rated_{.of_tire = {.numbers = fleet.tires.rated_load},
               .of_position = {.numbers = fleet.positions.rated_load}},
        rated_dual_{.of_tire = {.numbers = fleet.tires.rated_load_dual},
                    .of_position = {.numbers = fleet.positions.rated_load_dual}} {
    const bool pairs = !(use.pair_tread.empty() && use.pair_pressure.empty() && use.pair_tire.empty());
    shown_.assign(pairs ? positions_.facts.size() : 0, {});
  }

  void run() {
    for (std::size_t p = 0; p < positions_.facts.size(); ++p) {
      judge_position(p);
    }
  }

 private:
  void judge_position(std::size_t p) {
    collect_inspections(p);
    if (inspections_.empty()) {
      return;
    }
    known_subject_ = {};
    const auto last_with = [this](auto&& has) {
      const auto found = std::find_if(inspections_.rbegin(), inspections_.rend(), has);
      return found == inspections_.rend() ? nullptr : &*found;
    };
    const Inspection* tread = last_with([this](const Inspection& i) { return has_tread(i); });
    const Inspection* pressure = last_with([this](const Inspection& i) { return has_pressure(i); });
    if (options_.all) {
      for (const Inspection& i : inspections_) {
        judge_tread(p, i, has_tread(i), &i == tread);
        judge_pressure(p, i, has_pressure(i), &i == pressure);
        judge_tire(p, i, readings_.day[row_at(i.first)]);
      }
    } else {
      const Inspection& last = inspections_.back();
      judge_tread(p, tread != nullptr ? *tread : last, tread != nullptr, true);
      judge_pressure(p, pressure != nullptr ? *pressure : last, pressure != nullptr, true);
      judge_tire(p, last, options_.as_of);
    }
    if (!shown_.empty()) {
      shown_[p].tire = tire_of(p, inspections_.back());
    }
  }

  void collect_inspections(std::size_t p) {
    inspections_.clear();
    std::int64_t i = rows_.start[p];
    const std::int64_t end = rows_.start[p + 1];
    while (i < end) {
      const std::size_t row = row_at(i);
      if (readings_.day[row] > options_.as_of) {
        break;  // rows are in the order of time
      }
      std::int64_t j = i + 1;
      while (j < end && readings_.microsecond[row_at(j)] == readings_.microsecond[row]) {
        ++j;
      }
      inspections_.push_back({i, j});
      i = j;
    }
  }

  [[nodiscard]] std::size_t row_at(std::int64_t i) const {
    return static_cast<std::size_t>(rows_.order[static_cast<std::size_t>(i)]);
  }
  // The row that stands for an inspection: the least, whatever the order of equal rows.
  [[nodiscard]] std::int64_t row_of(const Inspection& i) const {
    return *std::min_element(rows_.order.begin() + i.first, rows_.order.begin() + i.last);
  }
  [[nodiscard]] std::int32_t tire_of(std::size_t p, const Inspection& inspection) const {
    return history_.at(p, readings_.microsecond[row_at(inspection.first)]);
  }
  [[nodiscard]] Of of(std::size_t p, const Inspection& inspection) const {
    return {.subject = {.position = static_cast<std::int32_t>(p), .tire = tire_of(p, inspection)},
            .row = row_of(inspection),
            .day = readings_.day[row_at(inspection.first)]};
  }

  // The rows that speak of this tire here. Inspections of one tire at one position share them.
  void collect(const Subject& subject) {
    if (known_subject_ && known_subject_->position == subject.position &&
        known_subject_->tire == subject.tire) {
      return;
    }
    writer_.collect(use_.tread, subject, tread_rows_);
    writer_.collect(use_.pressure, subject, pressure_rows_);
    writer_.collect(use_.tire, subject, tire_rows_);
    known_subject_ = subject;
  }

  [[nodiscard]] bool has_tread(const Inspection& inspection) const {
    for (std::int64_t i = inspection.first; i < inspection.last; ++i) {
      for (const NumberColumn& groove : readings_.grooves) {
        if (!std::isnan(groove.at(row_at(i)))) {
          return true;
        }
      }
    }
    return false;
  }
  [[nodiscard]] bool has_pressure(const Inspection& inspection) const {
    for (std::int64_t i = inspection.first; i < inspection.last; ++i) {
      if (!std::isnan(readings_.pressure.at(row_at(i)))) {
        return true;
      }
    }
    return false;
  }

  // A tire that was changed after the inspection: its reading speaks of a tire that is no longer there.
  [[nodiscard]] bool changed_since(const Inspection& judged) const {
    return tire_changed(readings_, rows_, judged.first, judged.last, inspections_.back().last);
  }
  [[nodiscard]] Notes stale(const Inspection& judged) const {
    return !options_.all && changed_since(judged) ? bit(Note::tire_changed_since) : 0;
  }

  // ---- tread

  // `last`: of all at which tread was read, it is the one that is compared with its neighbours.
  void judge_tread(std::size_t p, const Inspection& inspection, bool read, bool last) {
    if (options_.all && !read) {
      return;
    }
    const Of here = of(p, inspection);
    collect(here.subject);
    const TreadFacts facts = read ? tread_.of(inspection) : TreadFacts{.notes = bit(Note::not_read)};
    const Notes old = read ? stale(inspection) : 0;
    for (const Applicable& row : tread_rows_) {
      if (old != 0 || !facts.read) {
        writer_.none(here, row, facts.notes | old);
      } else {
        judge_depth_row(here, row, facts);
      }
    }
    if (!std::isnan(positions_.pull.at(p))) {
      const Cell pull = cell_of(positions_.pull, static_cast<std::int64_t>(p));
      if (old != 0 || !facts.lowest) {
        writer_.none_pull(here, pull, facts.notes | old);
      } else {
        writer_.compare_pull(here, pull, {.cell = *facts.lowest, .notes = facts.notes});
      }
    }
    if (last && !shown_.empty() && facts.lowest && !changed_since(inspection)) {
      shown_[p].depth = *facts.lowest;
      shown_[p].depth_day = here.day;
      shown_[p].depth_row = here.row;
    }
  }

  void judge_depth_row(const Of& here, const Applicable& row, const TreadFacts& facts) {
    switch (writer_.row(row.limit).statistic) {
      case Statistic::lowest_any_groove:
        writer_.compare(here, row,
                        {.cell = *facts.lowest_of_all,
                         .notes = facts.notes & (bit(Note::lower_of_two) | bit(Note::some_inadmissible))});
        return;
      case Statistic::three_quarter_band:
        judge_band(here, row, facts);
        return;
      default:
        break;
    }
    if (!facts.lowest) {
      writer_.none(here, row, facts.notes);
      return;
    }
    switch (writer_.row(row.limit).statistic) {
      case Statistic::second_lowest_of_four:
        judge_four_places(here, row, facts);
        return;
      case Statistic::adjacent_pair:
      case Statistic::adjacent_pair_three_places:
        judge_pairs(here, row, facts);
        return;
      default:
        writer_.compare(here, row, {.cell = *facts.lowest, .notes = facts.notes});
    }
  }

  // "At most one of four points may be below": the second lowest decides. With fewer than four it decides
  // only where the points that are missing cannot.
  void judge_four_places(const Of& here, const Applicable& row, const TreadFacts& facts) {
    constexpr std::size_t places_needed = 4;
    const std::vector<Cell>& places = facts.lowest_by_place;
    const auto passes_at = [&](std::size_t i) {
      return writer_.would_pass(here, row.limit, places[i]).value_or(false);
    };
    if (places.size() >= 2 && (places.size() >= places_needed || !passes_at(1))) {
      writer_.compare(here, row, {.cell = places[1], .notes = facts.notes});
    } else if (places.size() == places_needed - 1 && passes_at(0)) {
      writer_.compare(here, row, {.cell = places[0], .notes = facts.notes});
    } else {
      writer_.none(here, row, facts.notes | bit(Note::fewer_than_four_places));
    }
  }

  void judge_pairs(const Of& here, const Applicable& row, const TreadFacts& facts) {
    if (facts.pair_by_place.empty()) {  // no two neighbours were read: only a passing groove can decide
      const Notes notes = facts.notes | bit(Note::one_groove_only);
      if (writer_.would_pass(here, row.limit, *facts.lowest).value_or(false)) {
        writer_.compare(here, row, {.cell = *facts.lowest, .notes = notes});
      } else {
        writer_.none(here, row, notes);
      }
      return;
    }
    constexpr std::size_t places_needed = 3;  // "at three separate places": OS-T-02
    const std::vector<Cell>& pairs = facts.pair_by_place;
    if (writer_.row(row.limit).statistic == Statistic::adjacent_pair) {
      writer_.compare(here, row, {.cell = pairs.front(), .notes = facts.notes});
    } else if (pairs.size() >= places_needed) {
      writer_.compare(here, row, {.cell = pairs[places_needed - 1], .notes = facts.notes});
    } else if (row.answer.applies == Applies::unknown ||
               writer_.would_pass(here, row.limit, pairs.back()).value_or(false)) {
      writer_.compare(here, row, {.cell = pairs.back(), .notes = facts.notes});
    } else if (pairs.size() > 1) {  // low at two places and at no third: the condition is not met
      writer_.pass_unread(here, row, facts.notes | bit(Note::fewer_than_three_places));
    } else {  // the others may be as low as the one that was read
      writer_.none(here, row, facts.notes | bit(Note::low_where_read));
    }
  }

  // The best band of three quarters of the breadth. Where it is not known how the grooves lie, only a tire
  // decides of which every groove passes, or none does.
  void judge_band(const Of& here, const Applicable& row, const TreadFacts& facts) {
    if (!facts.lowest) {
      writer_.none(here, row, facts.notes);
    } else if (facts.best_band) {
      writer_.compare(here, row, {.cell = *facts.best_band, .notes = facts.notes});
    } else if (writer_.would_pass(here, row.limit, *facts.lowest).value_or(false)) {
      writer_.compare(here, row, {.cell = *facts.lowest, .notes = facts.notes});
    } else if (!writer_.would_pass(here, row.limit, *facts.best_groove).value_or(true)) {
      writer_.compare(here, row, {.cell = *facts.best_groove, .notes = facts.notes});
    } else {
      writer_.none(here, row, facts.notes | bit(Note::band_not_known));
    }
  }

  // ---- pressure

  void judge_pressure(std::size_t p, const Inspection& inspection, bool read, bool last) {
    if (options_.all && !read) {
      return;
    }
    const Of here = of(p, inspection);
    collect(here.subject);
    const Notes old = read ? stale(inspection) : bit(Note::not_read);
    const std::size_t at = read ? pressure_row(inspection) : 0;
    for (const Applicable& row : pressure_rows_) {
      if (old != 0) {
        writer_.none(here, row, old);
      } else {
        judge_pressure_row(here, row, at);
      }
    }
    if (last && !shown_.empty() && read && !changed_since(inspection)) {
      shown_[p].pressure = cell_of(readings_.pressure, static_cast<std::int64_t>(at));
      shown_[p].pressure_day = here.day;
      shown_[p].pressure_row = here.row;
    }
  }

  // The lowest pressure of the inspection: of two that disagree, the lower is judged.
  [[nodiscard]] std::size_t pressure_row(const Inspection& inspection) const {
    std::size_t lowest = row_at(inspection.first);
    for (std::int64_t i = inspection.first; i < inspection.last; ++i) {
      const double here = readings_.pressure.at(row_at(i));
      const double least = readings_.pressure.at(lowest);
      if (!std::isnan(here) && (std::isnan(least) || here < least)) {
        lowest = row_at(i);
      }
    }
    return lowest;
  }

  void judge_pressure_row(const Of& here, const Applicable& row, std::size_t at) {
    Read read{.cell = cell_of(readings_.pressure, static_cast<std::int64_t>(at)),
              .notes = (readings_.conflict_at(at) & conflict_pressure) != 0 ? bit(Note::lower_of_two) : 0};
    if (writer_.row(row.limit).statistic == Statistic::cold_pressure && readings_.warm.at(at) == 1) {
      judge_warm(here, row, read, at);
    } else {
      writer_.compare(here, row, read);
    }
  }

  void judge_warm(const Of& here, const Applicable& row, Read read, std::size_t at) {
    if (const auto estimate = federal_estimate(here, read.cell, at)) {
      read.cell = *estimate;
      read.notes |= bit(Note::federal_estimate);
    } else if (const auto would = writer_.would_pass(here, row.limit, read.cell)) {
      if (!decides_warm(row.limit, read.cell, *would)) {
        writer_.none(here, row, read.notes | bit(why_no_estimate(here, at)));
        return;
      }
      read.notes |= *would ? 0 : bit(Note::below_even_warm);
    }
    writer_.compare(here, row, read);
  }

  // Heat only adds pressure: what is too low warm is too low cold, and what is not too high warm is not too
  // high cold.
  [[nodiscard]] bool decides_warm(std::int32_t limit, const Cell& read, bool would_pass) const {
    switch (writer_.row(limit).sense) {
      case Sense::at_least:
      case Sense::more_than:
        return !would_pass;
      case Sense::within:
        return less(read, writer_.bound_for(limit, read.measure));
      default:
        return would_pass;
    }
  }

  [[nodiscard]] std::optional<Cell> federal_estimate(const Of& here, const Cell& read, std::size_t at) const {
    const auto off = federal_subtraction(here, at);
    if (!off) {
      return std::nullopt;
    }
    Cell estimate = read;
    estimate.text = {};
    estimate.value = less_subtraction(read.value, read.measure, *off);
    return estimate;
  }

  [[nodiscard]] Cell rated_load(const Of& here) const { return cell_of(number_of(rated_, here.subject)); }

  [[nodiscard]] std::optional<HotSubtraction> subtraction_for(const Cell& rated, std::size_t at) const {
    return federal_hot_subtraction(readings_.speed_last_hour.at(at), readings_.speed_last_hour.measure,
                                   rated.value, rated.measure);
  }

  // No tire is rated higher in a pair than alone: a dual rating above 4,000 lb settles the row of the table
  // too, one that is not above leaves it open.
  [[nodiscard]] std::optional<HotSubtraction> federal_subtraction(const Of& here, std::size_t at) const {
    const Cell rated = rated_load(here);
    if (!rated.missing()) {
      return subtraction_for(rated, at);
    }
    const auto off = subtraction_for(cell_of(number_of(rated_dual_, here.subject)), at);
    return off == HotSubtraction::heavy ? off : std::nullopt;
  }

  [[nodiscard]] Note why_no_estimate(const Of& here, std::size_t at) const {
    constexpr double some_load = 5000.0;  // whether there is an estimate at this speed depends on no rating
    const bool speed_fits = subtraction_for({.value = some_load, .measure = Measure::pound}, at).has_value();
    const bool rated = !rated_load(here).missing();
    return speed_fits && !rated ? Note::rating_not_given : Note::warm_without_estimate;
  }

  [[nodiscard]] static std::int8_t tire_code(const Of& here, const CodeColumn& of_tire,
                                             const CodeColumn& of_position) {
    const std::int8_t code =
        here.subject.tire >= 0 ? of_tire.at(static_cast<std::size_t>(here.subject.tire)) : std::int8_t{-1};
    return code >= 0 ? code : of_position.at(static_cast<std::size_t>(here.subject.position));
  }

  // ---- facts of the tire itself

  void judge_tire(std::size_t p, const Inspection& inspection, std::int32_t today) {
    if (use_.tire.empty()) {
      return;
    }
    const Of here = of(p, inspection);
    collect(here.subject);
    for (const Applicable& row : tire_rows_) {
      switch (writer_.row(row.limit).statistic) {
        case Statistic::retread_or_regrooved:
          judge_retread(here, row);
          break;
        case Statistic::regrooved_capacity:
          judge_capacity(here, row);
          break;
        case Statistic::load_carried:
          judge_load(here, row);
          break;
        case Statistic::speed_last_hour:
          judge_speed(here, row, inspection);
          break;
        default:
          judge_age(here, row, today);
      }
    }
  }

  void judge_retread(const Of& here, const Applicable& row) {
    const std::int8_t regrooved = tire_code(here, tires_.regrooved, positions_.regrooved);
    const std::int8_t retread =
        regrooved == 1 ? regrooved : tire_code(here, tires_.retread, positions_.retread);
    if (retread < 0) {
      writer_.none(here, row, bit(Note::retread_not_stated));
    } else {
      writer_.observe(here, row, retread == 1);
    }
  }

  void judge_capacity(const Of& here, const Applicable& row) {
    if (tire_code(here, tires_.regrooved, positions_.regrooved) != 1) {
      return;
    }
    const Cell rated = rated_load(here);
    if (rated.missing()) {
      writer_.none(here, row, bit(Note::fact_missing), writer_.row(row.limit).fact);
    } else {
      writer_.compare(here, row, {.cell = rated});
    }
  }

  void judge_load(const Of& here, const Applicable& row) {
    const std::optional<Read> load = loads_.on_tire(static_cast<std::size_t>(here.subject.position));
    if (!load) {
      return;
    }
    if (load->cell.missing()) {
      writer_.none(here, row, load->notes);
    } else {
      writer_.compare(here, row, *load);
    }
  }

  void judge_speed(const Of& here, const Applicable& row, const Inspection& inspection) {
    for (std::int64_t i = inspection.last - 1; i >= inspection.first; --i) {
      const Cell speed = cell_of(readings_.speed_last_hour, static_cast<std::int64_t>(row_at(i)));
      if (!speed.missing()) {
        const auto known = writer_.would_pass(here, row.limit, speed);
        if (known) {  // most tires carry no speed mark, and then the rule says nothing
          writer_.compare(here, row, {.cell = speed});
        }
        return;
      }
    }
  }

  // Only the week is known: it decides where every day of it gives the same answer. An age is that of the day
  // of judging, whenever the tire was last read.
  void judge_age(Of here, const Applicable& row, std::int32_t today) {
    here.day = today;
    if (here.subject.tire < 0) {
      return;
    }
    const auto t = static_cast<std::size_t>(here.subject.tire);
    const auto at = [t](std::span<const double> days) {
      return days.empty() ? std::numeric_limits<double>::quiet_NaN() : days[t];
    };
    const bool of_tire = writer_.row(row.limit).statistic == Statistic::age_of_tire;
    const bool retreaded = of_tire && !std::isnan(at(tires_.retreaded_from));
    if (of_tire && !retreaded && tires_.retread.at(t) == 1) {  // the age of its casing is not its own
      writer_.none(here, row, bit(Note::retread_date_unknown));
      return;
    }
    const double from = at(retreaded ? tires_.retreaded_from : tires_.made_from);
    const double to = at(retreaded ? tires_.retreaded_to : tires_.made_to);
    if (std::isnan(from)) {
      if (tires_.date_unusable.at(t) == 1) {
        writer_.none(here, row, bit(Note::date_code_unusable));
      }
      return;
    }
    const auto age = [today](double day) {
      return Cell{.value = calendar_years(static_cast<std::int32_t>(day),
                                          std::max(today, static_cast<std::int32_t>(day))),
                  .measure = Measure::year};
    };
    const Cell oldest = age(from), youngest = age(to);
    if (writer_.would_pass(here, row.limit, oldest) != writer_.would_pass(here, row.limit, youngest)) {
      writer_.none(here, row, bit(Note::week_decides));
    } else {
      writer_.compare(here, row, {.cell = youngest});
    }
  }

  const ReadingColumns& readings_;
  const PositionColumns& positions_;
  const TireColumns& tires_;
  const RowsByPosition& rows_;
  const TireHistory& history_;
  const RowsByUse& use_;
  const JudgeOptions& options_;
  VerdictWriter& writer_;
  std::vector<TireShown>& shown_;
  TreadReader tread_;
  LoadSharing loads_;
  const Fact rated_, rated_dual_;
  std::vector<Inspection> inspections_;
  std::optional<Subject> known_subject_;
  std::vector<Applicable> tread_rows_, pressure_rows_, tire_rows_;
};

}  // namespace

void judge_positions(const Fleet& fleet, const RowsByPosition& rows, const TireHistory& tires,
                     const RowsByUse& use, const JudgeOptions& options, VerdictWriter& writer,
                     std::vector<TireShown>& shown) {
  Judging(fleet, rows, tires, use, options, writer, shown).run();
}

}  // namespace wheelend
