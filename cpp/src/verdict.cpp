#include "wheelend/verdict.hpp"

#include "wheelend/error.hpp"

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
    case Sense::within:
    case Sense::absent:
      break;
  }
  throw LimitError("'within' and 'absent' have no one bound to compare with");
}

bool holds(std::span<const Term> left, Sense sense, std::span<const Term> right) {
  return passes(compare_products(left, right), sense);
}

}  // namespace wheelend
