#include "leak_parts.hpp"

#include <algorithm>

namespace wheelend {

bool AirParts::empty() const {
  return std::all_of(count_.begin(), count_.end(), [](std::uint8_t n) { return n == 0; });
}

bool AirParts::normalize(double least) {
  double total = 0.0;
  each([&](std::size_t, const AirPart& p) { total += p.w; });
  if (!(total > 0.0)) {
    return false;
  }
  double kept = 0.0;
  for (std::size_t j = 0; j < air_classes; ++j) {
    const std::span<AirPart> here = of(j);
    std::uint8_t count = 0;
    for (const AirPart& p : here) {
      if (p.w >= least * total) {
        kept += p.w;
        here[count++] = p;
      }
    }
    count_[j] = count;
  }
  const double by = 1.0 / kept;
  each([by](std::size_t, AirPart& p) { p.w *= by; });
  return true;
}

}  // namespace wheelend
