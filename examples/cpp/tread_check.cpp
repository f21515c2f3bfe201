// One reading against one limit from C++. Build it against an installed wheelend:
//   cmake --install build/tests --prefix DIR, then find_package(wheelend) and link wheelend::core
//   (tests/consumer shows it).
#include <iostream>

#include "wheelend/verdict.hpp"

int main() {
  using namespace wheelend;
  const Limit<TreadDepth> front{{"4", Measure::thirty_seconds}, Sense::at_least};  // 49 CFR 393.75(b)
  for (const double millimetres_read : {3.175, 3.17}) {
    const Verdict verdict = judge(Reading<TreadDepth>{millimetres_read, Measure::millimetre}, front);
    std::cout << millimetres_read << " mm: " << verdict_names[static_cast<std::size_t>(verdict)] << '\n';
  }
}
