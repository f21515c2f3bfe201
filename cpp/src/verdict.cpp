#include "wheelend/verdict.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>

#include "wheelend/error.hpp"
#include "wheelend/pressure.hpp"

namespace wheelend {

bool passes(std::strong_ordering order, Sense sense) {
  switch (sense) {
    case Sense::at_least:
      return order >= 0;
    case Sense::more_than:
      return order > 0;
    case Sense::at_most:
      return order <= 0;
    case Sense::less_than:
      return order < 0;
    case Sense::absent:
      break;
  }
  throw LimitError("'absent' has no bound to compare with");
}

bool holds(std::span<const Term> left, Sense sense, std::span<const Term> right) {
  return passes(compare_products(left, right), sense);
}

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr std::int8_t no_groove = -1;

using Notes = std::uint32_t;
constexpr Notes bit(Note n) { return static_cast<Notes>(n); }

// A value as it was written, and where.
struct Cell {
  double value = nan;
  Measure measure = Measure::thirty_seconds;
  std::string_view text = {};  // only where the double does not keep the decimal
  std::int8_t groove = no_groove;
  std::int32_t place = -1;

  [[nodiscard]] Term term() const { return text.empty() ? Term::of(value) : Term::of(text); }
};

Cell cell_of(const NumberColumn& column, std::int64_t row) {
  return {.value = column.at(static_cast<std::size_t>(row)),
          .measure = column.measure,
          .text = column.text_at(row)};
}

std::strong_ordering order(const Cell& a, const Cell& b) {
  if (a.measure == b.measure && a.text.empty() &&
      b.text.empty()) {  // doubles are ordered as their decimals are
    return a.value < b.value
               ? std::strong_ordering::less
               : (a.value > b.value ? std::strong_ordering::greater : std::strong_ordering::equal);
  }
  const std::array left{a.term(), Term::of(a.measure)};
  const std::array right{b.term(), Term::of(b.measure)};
  return compare_products(left, right);
}

bool less(const Cell& a, const Cell& b) { return order(a, b) < 0; }

bool is_metric(Measure m) {
  switch (m) {
    case Measure::millimetre:
    case Measure::metre:
    case Measure::kilometre:
    case Measure::kilopascal:
    case Measure::bar:
    case Measure::kilogram:
    case Measure::kilometre_per_hour:
      return true;
    default:
      return false;
  }
}

// The text of a bound where its double does not stand for the same decimal, else nothing: doubles compare
// faster.
std::string_view text_beyond_double(const Bound& b, double value) {
  return is_shortest_decimal(b.text, value) ? std::string_view() : std::string_view(b.text);
}

// What the depth rows of one inspection come to.
struct DepthFacts {
  bool read = false;
  std::optional<Cell> lowest = std::nullopt;
  std::vector<Cell> pair_by_place = {};  // per place: the deeper groove of its lowest adjacent pair
  Notes notes = 0;
};

struct Inspection {
  std::int64_t first = 0;  // into RowsByPosition::order
  std::int64_t last = 0;
};

class Judging {
 public:
  Judging(const ReadingColumns& readings, const PositionColumns& positions, const TireColumns& tires,
          const std::vector<LimitRow>& limits, const JudgeOptions& options)
      : readings_(readings),
        positions_(positions),
        tires_(tires),
        limits_(limits),
        options_(options),
        rows_(rows_by_position(readings, positions.facts.size())) {
    for (const LimitRow& row : limits) {
      bounds_.push_back(row.sense == Sense::absent ? nan : number_of(row.bound));
      twins_.push_back(row.twin ? number_of(*row.twin) : nan);
      bound_texts_.push_back(row.sense == Sense::absent ? "" : text_beyond_double(row.bound, bounds_.back()));
      twin_texts_.push_back(row.twin ? text_beyond_double(*row.twin, twins_.back()) : "");
    }
  }

  VerdictTable run() {
    for (std::size_t p = 0; p < positions_.facts.size(); ++p) {
      judge_position(p);
    }
    return std::move(out_);
  }

 private:
  void judge_position(std::size_t p) {
    collect_inspections(p);
    if (inspections_.empty()) {
      return;
    }
    collect_applicable(p);
    if (options_.all) {
      for (const Inspection& i : inspections_) {
        judge_tread(p, i, has_tread(i));
        judge_pressure(p, i, has_pressure(i));
        judge_tire(p, i);
      }
      return;
    }
    const auto last_with = [this](auto&& has) {
      const auto found = std::find_if(inspections_.rbegin(), inspections_.rend(), has);
      return found == inspections_.rend() ? std::pair(inspections_.back(), false) : std::pair(*found, true);
    };
    const auto [tread, tread_read] = last_with([this](const Inspection& i) { return has_tread(i); });
    judge_tread(p, tread, tread_read);
    const auto [pressure, pressure_read] = last_with([this](const Inspection& i) { return has_pressure(i); });
    judge_pressure(p, pressure, pressure_read);
    judge_tire(p, inspections_.back());
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

  void collect_applicable(std::size_t p) {
    applicable_.clear();
    for (std::size_t i = 0; i < limits_.size(); ++i) {
      if (const Applies a = applies(limits_, i, positions_.facts[p]); a != Applies::no) {
        applicable_.emplace_back(static_cast<std::int32_t>(i), a);
      }
    }
  }

  [[nodiscard]] std::size_t row_at(std::int64_t i) const {
    return static_cast<std::size_t>(rows_.order[static_cast<std::size_t>(i)]);
  }
  // The row that stands for an inspection: the least, whatever the order of equal rows.
  [[nodiscard]] std::int64_t row_of(const Inspection& i) const {
    return *std::min_element(rows_.order.begin() + i.first, rows_.order.begin() + i.last);
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

  // ---- tread

  DepthFacts depth_facts(const Inspection& inspection) {
    DepthFacts facts;
    std::int64_t i = inspection.first;
    while (i < inspection.last) {
      const std::int32_t place = readings_.place_at(row_at(i));
      std::int64_t j = i;
      grooves_.assign(readings_.grooves.size(), std::nullopt);
      bool any = false;
      for (; j < inspection.last && readings_.place_at(row_at(j)) == place; ++j) {
        any = add_row(static_cast<std::int64_t>(row_at(j)), place, facts) || any;
      }
      if (any) {
        add_place(facts);
      }
      i = j;
    }
    std::sort(facts.pair_by_place.begin(), facts.pair_by_place.end(), less);
    if (facts.read && !facts.lowest) {
      facts.notes |= bit(Note::none_admissible);
      facts.notes &= ~(bit(Note::some_inadmissible) | bit(Note::some_without_bar));
    }
    return facts;
  }

  // Puts the admissible grooves of a row into grooves_; two rows of one place keep the lower depth.
  bool add_row(std::int64_t row, std::int32_t place, DepthFacts& facts) {
    const auto r = static_cast<std::size_t>(row);
    bool any = false;
    for (std::size_t g = 0; g < readings_.grooves.size(); ++g) {
      Cell cell = cell_of(readings_.grooves[g], row);
      if (std::isnan(cell.value)) {
        continue;
      }
      facts.read = true;
      if (!readings_.is_admissible(r, g)) {
        facts.notes |= bit(Note::some_inadmissible);
        continue;
      }
      if (!readings_.has_bar(r, g)) {
        facts.notes |= bit(Note::some_without_bar);
        continue;
      }
      cell.groove = static_cast<std::int8_t>(g);
      cell.place = place;
      if (!grooves_[g] || less(cell, *grooves_[g])) {
        grooves_[g] = cell;
      }
      any = true;
    }
    if ((readings_.conflict_at(r) & conflict_depth) != 0) {
      facts.notes |= bit(Note::lower_of_two);
    }
    return any;
  }

  // Lowest groove and lowest adjacent pair of one place. Grooves without an indicator do not count as grooves
  // at all, so they do not part two that have one; a groove that has one and was not read does.
  void add_place(DepthFacts& facts) {
    std::optional<Cell> lowest_pair;
    const std::optional<Cell>* before = nullptr;
    for (std::size_t g = 0; g < grooves_.size(); ++g) {
      const std::optional<Cell>& here = grooves_[g];
      if (here && (!facts.lowest || less(*here, *facts.lowest))) {
        facts.lowest = here;
      }
      if (here && before != nullptr && *before) {
        const Cell& deeper = less(*here, **before) ? **before : *here;
        if (!lowest_pair || less(deeper, *lowest_pair)) {
          lowest_pair = deeper;
        }
      }
      if (here || counts_at_place(g)) {
        before = &here;
      }
    }
    if (lowest_pair) {
      facts.pair_by_place.push_back(*lowest_pair);
    }
  }

  // Whether a groove that was not read still lies between its neighbours: it does unless it carries no
  // indicator.
  [[nodiscard]] bool counts_at_place(std::size_t g) const {
    return readings_.barred.empty() || ((current_bars_ >> g) & 1U) != 0;
  }

  void judge_tread(std::size_t p, const Inspection& inspection, bool read) {
    if (options_.all && !read) {
      return;
    }
    current_bars_ = readings_.barred.empty() ? ~std::uint64_t{0} : readings_.barred[row_at(inspection.first)];
    const DepthFacts facts = read ? depth_facts(inspection) : DepthFacts{.notes = bit(Note::not_read)};
    const Notes stale =
        read && !options_.all && changed_since(inspection) ? bit(Note::tire_changed_since) : 0;
    for (const auto& [limit, how] : applicable_) {
      const LimitRow& row = limits_[static_cast<std::size_t>(limit)];
      if (quantity_of(row.statistic) != Quantity::tread_depth) {
        continue;
      }
      if (how == Applies::unknown || stale != 0 || !facts.lowest) {
        emit_none(p, inspection, limit,
                  facts.notes | stale | (how == Applies::unknown ? bit(Note::kind_or_role_missing) : 0));
      } else {
        judge_depth_row(p, inspection, limit, facts);
      }
    }
    if (!std::isnan(positions_.pull.at(p))) {
      if (stale != 0 || !facts.lowest) {
        emit_none(p, inspection, -1, facts.notes | stale);
      } else {
        emit_compared(p, inspection, -1, *facts.lowest,
                      cell_of(positions_.pull, static_cast<std::int64_t>(p)), facts.notes);
      }
    }
  }

  void judge_depth_row(std::size_t p, const Inspection& inspection, std::int32_t limit,
                       const DepthFacts& facts) {
    const LimitRow& row = limits_[static_cast<std::size_t>(limit)];
    const Cell bound = bound_for(limit, facts.lowest->measure);
    if (row.statistic == Statistic::lowest_depth) {
      emit_compared(p, inspection, limit, *facts.lowest, bound, facts.notes);
      return;
    }
    if (facts.pair_by_place.empty()) {  // no two neighbours were read: only a passing groove can decide
      if (passes(order(*facts.lowest, bound), row.sense)) {
        emit_compared(p, inspection, limit, *facts.lowest, bound, facts.notes | bit(Note::one_groove_only));
      } else {
        emit_none(p, inspection, limit, facts.notes | bit(Note::one_groove_only));
      }
      return;
    }
    constexpr std::size_t places_needed = 3;  // "at three separate places": OS-T-02
    if (row.statistic == Statistic::adjacent_pair) {
      emit_compared(p, inspection, limit, facts.pair_by_place.front(), bound, facts.notes);
    } else if (facts.pair_by_place.size() >= places_needed) {
      emit_compared(p, inspection, limit, facts.pair_by_place[places_needed - 1], bound, facts.notes);
    } else if (passes(order(facts.pair_by_place.back(), bound), row.sense)) {
      emit_compared(p, inspection, limit, facts.pair_by_place.back(), bound, facts.notes);
    } else {  // low wherever it was read, but not shown at three places: the condition is not met
      emit(p, inspection, limit, Verdict::pass, nullptr, bound,
           facts.notes | bit(Note::fewer_than_three_places));
    }
  }

  // ---- pressure

  void judge_pressure(std::size_t p, const Inspection& inspection, bool read) {
    if (options_.all && !read) {
      return;
    }
    const Notes stale =
        read && !options_.all && changed_since(inspection) ? bit(Note::tire_changed_since) : 0;
    for (const auto& [limit, how] : applicable_) {
      const LimitRow& rule = limits_[static_cast<std::size_t>(limit)];
      if (quantity_of(rule.statistic) != Quantity::pressure) {
        continue;
      }
      Notes notes = stale | (how == Applies::unknown ? bit(Note::kind_or_role_missing) : 0);
      if (!read || notes != 0) {
        emit_none(p, inspection, limit, notes | (read ? 0 : bit(Note::not_read)));
        continue;
      }
      judge_pressure_row(p, inspection, limit, pressure_row(inspection));
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

  void judge_pressure_row(std::size_t p, const Inspection& inspection, std::int32_t limit, std::size_t row) {
    const LimitRow& rule = limits_[static_cast<std::size_t>(limit)];
    Notes notes = (readings_.conflict_at(row) & conflict_pressure) != 0 ? bit(Note::lower_of_two) : 0;
    Cell base;
    if (rule.base != Base::none) {
      base = base_of(rule.base, p, row, notes);
      if (std::isnan(base.value)) {
        emit_none(p, inspection, limit, notes);
        return;
      }
    }
    Cell read = cell_of(readings_.pressure, static_cast<std::int64_t>(row));
    const Cell bound = rule.base == Base::none ? bound_for(limit, read.measure) : share_of(limit, base);
    if (rule.statistic == Statistic::cold_pressure && readings_.warm.at(row) == 1) {
      if (const auto estimate = federal_estimate(read, row)) {
        read = *estimate;
        notes |= bit(Note::federal_estimate);
      } else if (passes(share_order(read, rule, base, bound), rule.sense)) {
        emit_none(p, inspection, limit, notes | bit(Note::warm_without_estimate));
        return;
      } else {
        notes |= bit(Note::below_even_warm);  // heat only adds pressure, so it fails cold as well
      }
    }
    emit_compared(p, inspection, limit, read, bound, notes, share_order(read, rule, base, bound));
  }

  // What the bound is a share of, with the notes that its absence or origin calls for.
  [[nodiscard]] Cell base_of(Base base, std::size_t p, std::size_t row, Notes& notes) const {
    const auto position = static_cast<std::int64_t>(p);
    Cell cell;
    switch (base) {
      case Base::sidewall_max:
        cell = tire_cell(tires_.sidewall_max, positions_.sidewall_max, row);
        notes |= std::isnan(cell.value) ? bit(Note::no_sidewall_max) : 0;
        return cell;
      case Base::load:
        cell = cell_of(positions_.needed, position);
        if (!std::isnan(cell.value)) {
          return cell;
        }
        cell = cell_of(positions_.target, position);
        notes |= std::isnan(cell.value) ? bit(Note::no_target) : bit(Note::target_stands_in);
        return cell;
      default:
        cell = cell_of(positions_.target, position);
        notes |= std::isnan(cell.value) ? bit(Note::no_target) : 0;
        return cell;
    }
  }

  [[nodiscard]] Cell tire_cell(const NumberColumn& of_tire, const NumberColumn& of_position,
                               std::size_t row) const {
    const FactCell fact = tire_fact(readings_, row, of_tire, of_position);
    return cell_of(*fact.column, fact.index);
  }
  [[nodiscard]] std::int8_t tire_code(const CodeColumn& of_tire, const CodeColumn& of_position, std::size_t p,
                                      std::size_t row) const {
    const std::int32_t tire = readings_.tire_at(row);
    const std::int8_t code = tire >= 0 ? of_tire.at(static_cast<std::size_t>(tire)) : std::int8_t{-1};
    return code >= 0 ? code : of_position.at(p);
  }

  [[nodiscard]] std::optional<Cell> federal_estimate(const Cell& read, std::size_t row) const {
    const Cell rated = tire_cell(tires_.rated_load, positions_.rated_load, row);
    const auto off = federal_hot_subtraction(readings_.speed_last_hour.at(row),
                                             readings_.speed_last_hour.measure, rated.value, rated.measure);
    if (!off) {
      return std::nullopt;
    }
    Cell estimate = read;
    estimate.text = {};
    estimate.value = less_subtraction(read.value, read.measure, *off);
    return estimate;
  }

  // ---- facts of the tire itself

  void judge_tire(std::size_t p, const Inspection& inspection) {
    const std::size_t row = row_at(inspection.last - 1);
    for (const auto& [limit, how] : applicable_) {
      const Statistic statistic = limits_[static_cast<std::size_t>(limit)].statistic;
      const Notes unknown = how == Applies::unknown ? bit(Note::kind_or_role_missing) : 0;
      if (statistic == Statistic::retread_or_regrooved) {
        const std::int8_t regrooved = tire_code(tires_.regrooved, positions_.regrooved, p, row);
        const std::int8_t retread =
            regrooved == 1 ? regrooved : tire_code(tires_.retread, positions_.retread, p, row);
        if (unknown != 0 || retread < 0) {
          emit_none(p, inspection, limit, unknown | (retread < 0 ? bit(Note::retread_not_stated) : 0));
        } else {
          const Cell flag{.value = static_cast<double>(retread), .measure = Measure::yes_no};
          emit(p, inspection, limit, retread == 1 ? Verdict::fail : Verdict::pass, &flag,
               {.value = nan, .measure = Measure::yes_no}, 0);
        }
      } else if (statistic == Statistic::regrooved_capacity &&
                 tire_code(tires_.regrooved, positions_.regrooved, p, row) == 1) {
        const Cell rated = tire_cell(tires_.rated_load, positions_.rated_load, row);
        if (unknown != 0 || std::isnan(rated.value)) {
          emit_none(p, inspection, limit, unknown | (std::isnan(rated.value) ? bit(Note::no_rated_load) : 0));
        } else {
          emit_compared(p, inspection, limit, rated, bound_for(limit, rated.measure), 0);
        }
      }
    }
  }

  // ---- comparing and writing

  // The bound of a row, in the twin that belongs to the reading's system of measures.
  [[nodiscard]] Cell bound_for(std::int32_t limit, Measure read_in) const {
    const auto i = static_cast<std::size_t>(limit);
    const LimitRow& row = limits_[i];
    if (row.twin && is_metric(row.twin->measure) == is_metric(read_in) &&
        is_metric(row.bound.measure) != is_metric(read_in)) {
      return {.value = twins_[i], .measure = row.twin->measure, .text = twin_texts_[i]};
    }
    return {.value = bounds_[i], .measure = row.bound.measure, .text = bound_texts_[i]};
  }

  [[nodiscard]] Cell share_of(std::int32_t limit, const Cell& base) const {
    constexpr double hundred = 100.0;
    return {.value = base.value * bounds_[static_cast<std::size_t>(limit)] / hundred,
            .measure = base.measure};
  }

  // A share is compared as reading against base x percent, so that 80 % of 110 is 88 and nothing beside it.
  static std::strong_ordering share_order(const Cell& read, const LimitRow& rule, const Cell& base,
                                          const Cell& bound) {
    if (rule.base == Base::none) {
      return order(read, bound);
    }
    const std::array left{read.term(), Term::of(read.measure)};
    const std::array right{base.term(), Term::of(base.measure), Term::of(std::string_view(rule.bound.text)),
                           Term::of(rule.bound.measure)};
    return compare_products(left, right);
  }

  [[nodiscard]] Sense sense_of(std::int32_t limit) const {
    // "Flag below": the fleet removes a tire that is below its pull depth, as the legal minimums are read.
    return limit < 0 ? Sense::at_least : limits_[static_cast<std::size_t>(limit)].sense;
  }

  // A fleet's target that stands in for the pressure that the load needs is the fleet's own number, not the
  // law's.
  [[nodiscard]] Severity severity_of(std::int32_t limit, Notes notes) const {
    if (limit < 0 || (notes & bit(Note::target_stands_in)) != 0) {
      return Severity::own;
    }
    return limits_[static_cast<std::size_t>(limit)].severity;
  }

  void emit_none(std::size_t p, const Inspection& inspection, std::int32_t limit, Notes notes) {
    Cell bound{.value = nan, .measure = Measure::psi};
    if (limit < 0) {
      bound = cell_of(positions_.pull, static_cast<std::int64_t>(p));
    } else if (const LimitRow& row = limits_[static_cast<std::size_t>(limit)]; row.base == Base::none) {
      bound = {.value = bounds_[static_cast<std::size_t>(limit)], .measure = row.bound.measure};
    }
    emit(p, inspection, limit, Verdict::no_verdict, nullptr, bound, notes);
  }

  void emit_compared(std::size_t p, const Inspection& inspection, std::int32_t limit, const Cell& read,
                     const Cell& bound, Notes notes) {
    emit_compared(p, inspection, limit, read, bound, notes, order(read, bound));
  }
  void emit_compared(std::size_t p, const Inspection& inspection, std::int32_t limit, const Cell& read,
                     const Cell& bound, Notes notes, std::strong_ordering compared) {
    const Verdict verdict = passes(compared, sense_of(limit)) ? Verdict::pass : Verdict::fail;
    emit(p, inspection, limit, verdict, &read, bound, notes, compared);
  }

  void emit(std::size_t p, const Inspection& inspection, std::int32_t limit, Verdict verdict,
            const Cell* read, const Cell& bound, Notes notes,
            std::strong_ordering compared = std::strong_ordering::less) {
    double reading = nan, margin = nan;
    if (read != nullptr) {
      reading = compared == 0 ? bound.value : convert(read->value, read->measure, bound.measure);
      const Sense sense = sense_of(limit);
      if (sense != Sense::absent) {
        const bool floor = sense == Sense::at_least || sense == Sense::more_than;
        margin = floor ? reading - bound.value : bound.value - reading;
        const double step = info(read->measure).gauge_step;
        if (step > 0.0 && std::abs(convert(margin, bound.measure, read->measure)) < step) {
          notes |= bit(Note::within_gauge_step);
        }
      }
    }
    out_.position.push_back(static_cast<std::int32_t>(p));
    out_.row.push_back(row_of(inspection));
    out_.limit.push_back(limit);
    out_.reading.push_back(reading);
    out_.bound.push_back(bound.value);
    out_.margin.push_back(margin);
    out_.measure.push_back(static_cast<std::uint8_t>(bound.measure));
    out_.as_read.push_back(read != nullptr ? read->value : nan);
    out_.as_read_measure.push_back(
        static_cast<std::uint8_t>(read != nullptr ? read->measure : bound.measure));
    out_.groove.push_back(read != nullptr ? read->groove : no_groove);
    out_.place.push_back(read != nullptr ? read->place : -1);
    out_.verdict.push_back(static_cast<std::uint8_t>(verdict));
    out_.severity.push_back(static_cast<std::uint8_t>(severity_of(limit, notes)));
    out_.notes.push_back(notes);
  }

  const ReadingColumns& readings_;
  const PositionColumns& positions_;
  const TireColumns& tires_;
  const std::vector<LimitRow>& limits_;
  const JudgeOptions options_;
  const RowsByPosition rows_;
  std::vector<double> bounds_, twins_;
  std::vector<std::string_view> bound_texts_, twin_texts_;
  std::vector<Inspection> inspections_;
  std::vector<std::pair<std::int32_t, Applies>> applicable_;
  std::vector<std::optional<Cell>> grooves_;
  std::uint64_t current_bars_ = 0;
  VerdictTable out_;
};

}  // namespace

VerdictTable judge_readings(const ReadingColumns& readings, const PositionColumns& positions,
                            const TireColumns& tires, const std::vector<LimitRow>& limits,
                            const JudgeOptions& options) {
  return Judging(readings, positions, tires, limits, options).run();
}

}  // namespace wheelend
