#include "wheelend/limits.hpp"

namespace wheelend {

Answer applies(const std::vector<LimitRow>& rows, std::size_t i, const Facts& facts, const Subject& subject) {
  Answer answer = holds(rows[i].where, facts, subject);
  for (const std::int32_t other : rows[i].except) {
    if (answer.applies == Applies::no) {
      break;
    }
    const Answer there = applies(rows, static_cast<std::size_t>(other), facts, subject);
    if (there.applies == Applies::yes) {
      return {Applies::no, there.fact};
    }
    if (there.applies == Applies::unknown && answer.applies == Applies::yes) {
      answer = {Applies::unknown, there.fact};
    }
  }
  return answer;
}

}  // namespace wheelend
