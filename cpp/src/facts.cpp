#include "wheelend/facts.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <limits>

#include "cell.hpp"
#include "wheelend/error.hpp"

namespace wheelend {

namespace {

constexpr std::size_t index(std::int64_t i) { return static_cast<std::size_t>(i); }

const NumberColumn not_given;

bool compares(const Cell& cell, const Condition& condition) {
  const auto ordered = [&cell](const Bound& b) { return order(cell, cell_of(b)); };
  if (condition.relation == Relation::any_of || condition.relation == Relation::none_of) {
    const bool any = std::any_of(condition.bounds.begin(), condition.bounds.end(),
                                 [&ordered](const Bound& b) { return ordered(b) == 0; });
    return any == (condition.relation == Relation::any_of);
  }
  const std::strong_ordering compared = ordered(condition.bounds.front());
  switch (condition.relation) {
    case Relation::at_least:
      return compared >= 0;
    case Relation::more_than:
      return compared > 0;
    case Relation::at_most:
      return compared <= 0;
    default:
      return compared < 0;
  }
}

Applies one_holds(const Condition& condition, const Facts& facts, const Subject& subject) {
  const Fact& fact = facts[index(condition.fact)];
  if (condition.relation == Relation::stated || condition.relation == Relation::not_stated) {
    const bool known =
        fact.is_code ? code_of(fact, subject) >= 0 : !std::isnan(number_of(fact, subject).value());
    return known == (condition.relation == Relation::stated) ? Applies::yes : Applies::no;
  }
  if (fact.is_code) {
    const std::int32_t code = code_of(fact, subject);
    if (code < 0) {
      return Applies::unknown;
    }
    const bool any = std::find(condition.codes.begin(), condition.codes.end(), code) != condition.codes.end();
    return any == (condition.relation == Relation::any_of) ? Applies::yes : Applies::no;
  }
  const FactCell found = number_of(fact, subject);
  const Cell cell = cell_of(*found.column, found.index);
  if (cell.missing()) {
    return Applies::unknown;
  }
  return compares(cell, condition) ? Applies::yes : Applies::no;
}

}  // namespace

double number_of(const Bound& bound) {
  double v = std::numeric_limits<double>::quiet_NaN();
  const char* last = bound.text.data() + bound.text.size();
  const auto [end, error] = std::from_chars(bound.text.data(), last, v);
  if (error != std::errc() || end != last || !std::isfinite(v)) {
    throw LimitError("bound '" + bound.text + "' is not a decimal number");
  }
  return v;
}

std::int32_t code_of(const Fact& fact, const Subject& subject) {
  const auto known = [](const FactColumn& column, std::int64_t i) {
    return i >= 0 && !column.codes.empty() && column.codes[index(i)] >= 0;
  };
  if (known(fact.of_row, subject.row)) {
    return fact.of_row.codes[index(subject.row)];
  }
  if (fact.level <= subject.level) {
    if (known(fact.of_tire, subject.tire)) {
      const std::int32_t code = fact.of_tire.codes[index(subject.tire)];
      return subject.other_tire < 0 || fact.of_tire.codes[index(subject.other_tire)] == code ? code : -1;
    }
    if (known(fact.of_position, subject.position)) {
      return fact.of_position.codes[index(subject.position)];
    }
  }
  return fact.otherwise;
}

FactCell number_of(const Fact& fact, const Subject& subject) {
  const auto known = [](const NumberColumn& column, std::int64_t i) {
    return i >= 0 && !std::isnan(column.at(index(i)));
  };
  if (subject.row >= 0 && known(fact.of_row.numbers, subject.row)) {
    return {&fact.of_row.numbers, subject.row};
  }
  if (fact.level > subject.level) {
    return {&not_given, 0};
  }
  if (known(fact.of_tire.numbers, subject.tire)) {
    const FactCell found{&fact.of_tire.numbers, subject.tire};
    const FactCell other{&fact.of_tire.numbers, subject.other_tire};
    return subject.other_tire < 0 || found.value() == other.value() ? found : FactCell{&not_given, 0};
  }
  return known(fact.of_position.numbers, subject.position)
             ? FactCell{&fact.of_position.numbers, subject.position}
             : FactCell{&not_given, 0};
}

Answer holds(const std::vector<Condition>& conditions, const Facts& facts, const Subject& subject) {
  Answer answer;
  for (const Condition& condition : conditions) {
    switch (one_holds(condition, facts, subject)) {
      case Applies::no:
        return {Applies::no, condition.fact};
      case Applies::unknown:
        if (answer.applies == Applies::yes) {
          answer = {condition.or_not_stated ? Applies::yes : Applies::unknown,
                    condition.or_not_stated && answer.fact >= 0 ? answer.fact : condition.fact};
        }
        break;
      case Applies::yes:
        break;
    }
  }
  return answer;
}

}  // namespace wheelend
