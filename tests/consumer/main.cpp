// Reads a depth in one unit, writes it in another, and compares it with a limit as a decimal, not as a
// double.
#include <array>
#include <cstdio>

#include "wheelend/exact.hpp"
#include "wheelend/quantities.hpp"

int main() {
  using namespace wheelend;
  const TreadDepth depth(4.0 * thirty_seconds);
  std::printf("4/32 in is %.3f mm\n", depth.in(millimetres));

  const std::array limit{Term::of(4.0), Term::of(Measure::thirty_seconds)};
  for (const char* reading : {"3.17", "3.175", "3.18"}) {
    const std::array read{Term::of(reading), Term::of(Measure::millimetre)};
    const auto order = compare_products(read, limit);
    std::printf("%s mm is %s 4/32 in\n", reading, order < 0 ? "below" : (order > 0 ? "above" : "equal to"));
  }
}
