#include "verdict_writer.hpp"

#include <algorithm>

#include "wheelend/error.hpp"
#include "wheelend/pressure.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double hundred = 100.0;

Cell upper_of(const Bound& bound, const std::string& upper) {
  Cell cell;
  if (!upper.empty()) {
    cell = cell_of(Bound{upper, bound.measure});
    if (!cell.text.empty()) {
      cell.text = upper;  // not that of the temporary
    }
  }
  return cell;
}

// A difference in another measure: the zeros of two scales are no part of it.
double convert_difference(double difference, Measure from, Measure to) {
  return convert(difference, from, to) - convert(0.0, from, to);
}

// As it is shown: without what binary arithmetic leaves behind, and without a negative zero.
double tidy(double value) { return on_nine_places(value) + 0.0; }

// The nearer side of a band, by its own distance from the value.
bool nearer_below(const Cell& cell, const Cell& low, const Cell& high) {
  const double at = convert(cell.value, cell.measure, low.measure);
  return at - low.value <= high.value - at;
}

}  // namespace

VerdictWriter::VerdictWriter(const Facts& facts, const std::vector<LimitRow>& limits,
                             const JudgeOptions& options)
    : facts_(facts), limits_(limits), options_(options) {
  for (const LimitRow& row : limits) {
    Ready ready;
    ready.bound.measure = row.amount.bound.measure;
    if (row.sense != Sense::absent) {
      ready.bound = cell_of(row.amount.bound);
      ready.upper = upper_of(row.amount.bound, row.upper);
    }
    if (row.twin) {
      ready.twin = cell_of(*row.twin);
      ready.twin_upper = upper_of(*row.twin, row.twin_upper);
    }
    if (row.alternative) {
      ready.alternative = cell_of(row.alternative->bound);
    }
    ready_.push_back(ready);
  }
}

void VerdictWriter::collect(const std::vector<std::int32_t>& rows, const Subject& subject,
                            std::vector<Applicable>& out) const {
  out.clear();
  for (const std::int32_t limit : rows) {
    const Answer answer = applies(limits_, static_cast<std::size_t>(limit), facts_, subject);
    if (answer.applies == Applies::no) {
      continue;
    }
    const LimitRow& rule = row(limit);
    const auto same = std::find_if(out.begin(), out.end(), [&](const Applicable& a) {
      const LimitRow& other = row(a.limit);
      return rule.clause >= 0 && other.clause == rule.clause && other.since <= rule.until &&
             rule.since <= other.until;
    });
    if (same == out.end()) {
      out.push_back({limit, answer});
    } else if (answer.applies == Applies::yes && same->answer.applies == Applies::unknown) {
      *same = {limit, answer};
    } else if (answer.applies == Applies::yes) {
      out.push_back({limit, answer});
    }
  }
}

Cell VerdictWriter::bound_for(std::int32_t limit, Measure read_in) const {
  const Ready& ready = ready_[static_cast<std::size_t>(limit)];
  const System system = info(read_in).system;
  if (!ready.twin.missing() && info(ready.twin.measure).system == system &&
      info(ready.bound.measure).system != system) {
    return ready.twin;
  }
  return ready.bound;
}

std::strong_ordering VerdictWriter::ordered(const Cell& cell, const Side& side) {
  if (side.base.missing()) {
    return order(cell, side.bound);
  }
  // A share is compared as reading against base x percent, so that 80 % of 110 is 88 and nothing beside it.
  const std::array left{cell.term(), Term::of(cell.measure)};
  const std::array right{side.base.term(), Term::of(side.base.measure), side.share.term(),
                         Term::of(side.share.measure)};
  return compare_products(left, right);
}

VerdictWriter::Outcome VerdictWriter::against_amount(const Of& of, const Amount& amount, const Cell& bound,
                                                     const Cell& cell, Sense sense) const {
  Outcome result{.side = {.bound = bound, .sense = sense}};
  if (!amount.bases.empty()) {
    Cell base;
    std::size_t used = 0;
    for (; used < amount.bases.size() && base.missing(); ++used) {
      base = cell_of(number_of(facts_[static_cast<std::size_t>(amount.bases[used])], of.subject));
    }
    if (base.missing()) {
      result.known = false;
      result.notes = bit(Note::fact_missing);
      result.fact = amount.bases.back();
      result.side.bound = {.measure = bound.measure};
      return result;
    }
    if (used > 1) {
      result.stands_in = true;
      result.notes |= bit(Note::stands_in);
      result.fact = amount.bases[used - 1];
    }
    if (bound.measure == Measure::percent) {
      result.side.base = base;
      result.side.share = bound;
      result.side.bound = {.value = base.value * bound.value / hundred, .measure = base.measure};
    } else {
      const double sum = base.value + convert(bound.value, bound.measure, base.measure);
      result.side.bound = {.value = on_nine_places(sum), .measure = base.measure};
    }
  }
  result.passed = passes(ordered(cell, result.side), sense);
  return result;
}

VerdictWriter::Outcome VerdictWriter::within(std::int32_t limit, const Cell& cell) const {
  const Ready& ready = ready_[static_cast<std::size_t>(limit)];
  const Cell low = bound_for(limit, cell.measure);
  const bool by_twin = low.measure != ready.bound.measure;
  const Cell& high = by_twin ? ready.twin_upper : ready.upper;
  const bool below = nearer_below(cell, low, high);
  const auto lies_in = [&cell](const Cell& from, const Cell& to) {
    return order(cell, from) >= 0 && order(cell, to) <= 0;
  };
  const bool passed = lies_in(low, high);
  return {
      .passed = passed,
      .side = {.bound = below ? low : high, .sense = below ? Sense::at_least : Sense::at_most},
      .notes = by_twin && passed && !lies_in(ready.bound, ready.upper) ? bit(Note::other_printed_number) : 0};
}

VerdictWriter::Outcome VerdictWriter::outcome(const Of& of, std::int32_t limit, const Cell& cell) const {
  const LimitRow& rule = row(limit);
  const Ready& ready = ready_[static_cast<std::size_t>(limit)];
  if (rule.sense == Sense::within) {
    return within(limit, cell);
  }
  const Cell bound = bound_for(limit, cell.measure);
  Outcome result = against_amount(of, rule.amount, bound, cell, rule.sense);
  if (result.known && result.passed && rule.twin && bound.measure == ready.twin.measure &&
      !against_amount(of, rule.amount, ready.bound, cell, rule.sense).passed) {
    result.notes |= bit(Note::other_printed_number);
  }
  if (rule.alternative && !(result.known && result.passed)) {
    Outcome other = against_amount(of, *rule.alternative, ready.alternative, cell, rule.sense);
    if (other.known && other.passed) {
      other.notes |= bit(Note::alternative_decides);
      return other;
    }
    if (!other.known) {
      return other;
    }
  }
  return result;
}

std::optional<Cell> VerdictWriter::bound_of(const Of& of, std::int32_t limit, Measure read_in) const {
  const LimitRow& rule = row(limit);
  const Cell bound = bound_for(limit, read_in);
  const Outcome result = against_amount(of, rule.amount, bound, bound, rule.sense);
  return result.known ? std::optional(result.side.bound) : std::nullopt;
}

std::optional<bool> VerdictWriter::would_pass(const Of& of, std::int32_t limit, const Cell& cell) const {
  const Outcome result = outcome(of, limit, cell);
  return result.known ? std::optional(result.passed) : std::nullopt;
}

VerdictWriter::Gate VerdictWriter::gate(const Of& of, const Applicable& applicable, Notes notes) {
  if (!in_force(of, applicable.limit)) {
    return {};
  }
  if (applicable.answer.applies == Applies::unknown) {
    none(of, applicable, notes);
    return {};
  }
  const Answer needs = holds(row(applicable.limit).needs, facts_, of.subject);
  if (needs.applies != Applies::yes) {
    const Note why = needs.applies == Applies::no ? Note::not_admissible : Note::fact_missing;
    none(of, applicable, notes | bit(why), needs.fact);
    return {};
  }
  return {.open = true, .assumed = applicable.answer.fact >= 0 ? applicable.answer.fact : needs.fact};
}

void VerdictWriter::Gate::say(Read& said) const {
  if (said.fact < 0 && assumed >= 0) {
    said.notes |= bit(Note::fact_assumed);
    said.fact = assumed;
  }
}

Verdict VerdictWriter::settle(const Of& of, std::int32_t limit, bool passed, Severity severity, Read said,
                              const Side& side) {
  Verdict verdict = passed ? Verdict::pass : Verdict::fail;
  if (verdict == Verdict::fail && held_back(limit)) {
    verdict = Verdict::no_verdict;
    said.notes |= bit(Note::unconfirmed);
  }
  write(of, limit, verdict, severity, said, side);
  return verdict;
}

// Without its base a row says nothing, unless the tire is found without any pressure: that is too low
// whatever the base is.
Verdict VerdictWriter::settle_unknown(const Of& of, const Applicable& applicable, const Read& said,
                                      std::int32_t base) {
  const LimitRow& rule = row(applicable.limit);
  const bool floor = rule.sense == Sense::at_least || rule.sense == Sense::more_than;
  const bool share = rule.amount.bound.measure == Measure::percent;
  Read why = said;
  if (rule.statistic == Statistic::pressure_as_found && floor && share && said.cell.value <= 0.0) {
    why.notes |= bit(Note::fails_whatever);
    why.fact = base;
    const Side side{.bound = {.measure = said.cell.measure}, .sense = rule.sense};
    return settle(of, applicable.limit, false, rule.severity, why, side);
  }
  none(of, applicable, said.notes | bit(Note::fact_missing), base);
  return Verdict::no_verdict;
}

Verdict VerdictWriter::compare(const Of& of, const Applicable& applicable, const Read& read) {
  const Gate may = gate(of, applicable, read.notes);
  if (!may.open) {
    return Verdict::no_verdict;
  }
  const LimitRow& rule = row(applicable.limit);
  const Outcome result = outcome(of, applicable.limit, read.cell);
  if (!result.known) {
    return settle_unknown(of, applicable, read, result.fact);
  }
  Read said = read;
  said.notes |= result.notes;
  said.fact = result.fact >= 0 ? result.fact : read.fact;
  Severity severity = rule.severity;
  if (result.stands_in && rule.statistic == Statistic::load_carried) {
    said.notes &= ~bit(Note::stands_in);
    said.fact = rule.amount.bases.front();
    if (result.passed) {
      none(of, applicable, said.notes | bit(Note::fact_missing), said.fact);
      return Verdict::no_verdict;
    }
    said.notes |= bit(Note::fails_whatever);
  } else if (result.stands_in) {
    // A number of the fleet's that stands in for the one that the clause names is the fleet's own, not the
    // law's.
    severity = Severity::own;
  }
  may.say(said);
  return settle(of, applicable.limit, result.passed, severity, said, result.side);
}

Verdict VerdictWriter::observe(const Of& of, const Applicable& applicable, bool there, const Read& read) {
  const Gate may = gate(of, applicable, read.notes);
  if (!may.open) {
    return Verdict::no_verdict;
  }
  Read said = read;
  said.cell = {.value = there ? 1.0 : 0.0, .measure = Measure::yes_no};
  may.say(said);
  const Side side{.bound = {.measure = Measure::yes_no}, .sense = Sense::absent};
  return settle(of, applicable.limit, !there, row(applicable.limit).severity, said, side);
}

VerdictWriter::Side VerdictWriter::shown(std::int32_t limit) const {
  const LimitRow& rule = row(limit);
  Side side{.sense = rule.sense == Sense::within ? Sense::at_least : rule.sense};
  if (rule.amount.bases.empty()) {
    side.bound = ready_[static_cast<std::size_t>(limit)].bound;
  } else {
    side.bound = {.measure = rule.amount.bound.measure};
  }
  return side;
}

void VerdictWriter::none(const Of& of, const Applicable& applicable, Notes notes, std::int32_t fact) {
  none(of, applicable, Read{.notes = notes, .fact = fact});
}

void VerdictWriter::none(const Of& of, const Applicable& applicable, const Read& why) {
  if (!in_force(of, applicable.limit)) {
    return;
  }
  Read read = why;
  read.cell = {};
  Side side = shown(applicable.limit);
  if (applicable.answer.applies == Applies::unknown) {
    read.notes |= bit(Note::fact_missing);
    read.fact = why.fact >= 0 ? why.fact : applicable.answer.fact;
    side.bound = {.measure = side.bound.measure};  // it may not be the bound of this one
  }
  write(of, applicable.limit, Verdict::no_verdict, row(applicable.limit).severity, read, side);
}

void VerdictWriter::none_speaks(const Of& of, const Read& read) {
  Read said = read;
  said.notes |= bit(Note::no_row);
  const Side side{.bound = {.measure = read.cell.measure}, .sense = Sense::absent};
  write(of, no_row_speaks, Verdict::no_verdict, Severity::advice, said, side);
}

void VerdictWriter::pass_unread(const Of& of, const Applicable& applicable, Notes notes) {
  const Gate may = gate(of, applicable, notes);
  if (may.open) {
    Read said{.notes = notes};
    may.say(said);
    settle(of, applicable.limit, true, row(applicable.limit).severity, said, shown(applicable.limit));
  }
}

void VerdictWriter::compare_pull(const Of& of, const Cell& pull, const Read& read) {
  // "Flag below": the fleet removes a tire that is below its pull depth, as the legal minimums are read.
  const Side side{.bound = pull, .sense = Sense::at_least};
  write(of, own_pull, passes(ordered(read.cell, side), side.sense) ? Verdict::pass : Verdict::fail,
        Severity::own, read, side);
}

void VerdictWriter::none_pull(const Of& of, const Cell& pull, Notes notes) {
  write(of, own_pull, Verdict::no_verdict, Severity::own, {.notes = notes},
        {.bound = pull, .sense = Sense::at_least});
}

void VerdictWriter::write(const Of& of, std::int32_t limit, Verdict verdict, Severity severity,
                          const Read& read, const Side& side) {
  const Cell& cell = read.cell;
  const double bound = tidy(side.bound.value);
  double reading = nan, margin = nan;
  Notes notes = read.notes;
  if (!cell.missing()) {
    const bool bounded = side.sense != Sense::absent && !side.bound.missing();
    reading =
        bounded && ordered(cell, side) == 0 ? bound : convert(cell.value, cell.measure, side.bound.measure);
    if (bounded) {
      const bool floor = side.sense == Sense::at_least || side.sense == Sense::more_than;
      margin = tidy(floor ? reading - side.bound.value : side.bound.value - reading);
      const double step = info(cell.measure).gauge_step;
      if (step > 0.0 && std::abs(convert_difference(margin, side.bound.measure, cell.measure)) < step) {
        notes |= bit(Note::within_gauge_step);
      }
    }
  }
  if (read.against) {
    out_.against.push_back(
        {static_cast<std::int64_t>(out_.position.size()), read.against->value, read.against_position});
  }
  out_.position.push_back(of.subject.position);
  out_.level.push_back(static_cast<std::uint8_t>(of.subject.level));
  out_.row.push_back(of.row);
  out_.of_wheelend.push_back(of.wheelend ? 1 : 0);
  out_.limit.push_back(limit);
  out_.reading.push_back(reading);
  out_.bound.push_back(bound);
  out_.margin.push_back(margin);
  out_.measure.push_back(static_cast<std::uint8_t>(side.bound.measure));
  out_.sense.push_back(static_cast<std::uint8_t>(side.sense));
  out_.as_read.push_back(cell.value);
  out_.as_read_measure.push_back(
      static_cast<std::uint8_t>(cell.missing() ? side.bound.measure : cell.measure));
  out_.groove.push_back(cell.groove);
  out_.place.push_back(cell.place >= 0 ? cell.place : of.place);
  out_.verdict.push_back(static_cast<std::uint8_t>(verdict));
  out_.severity.push_back(static_cast<std::uint8_t>(severity));
  out_.notes.push_back(notes);
  out_.fact.push_back(static_cast<std::int16_t>(read.fact));
  out_.noted_limit.push_back(read.noted_limit);
}

}  // namespace wheelend
