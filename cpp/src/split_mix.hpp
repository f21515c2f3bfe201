// Random numbers by their number, not by their turn, so that they do not depend on threads: SplitMix64
// (Steele, Lea, Flood, OOPSLA 2014). Number n of the stream of a state is mixed(state + n * golden).
#pragma once

#include <cstdint>

namespace wheelend {

inline constexpr std::uint64_t golden = 0x9E3779B97F4A7C15ULL;  // 2^64 by the golden ratio, odd

// Its finalizer: a bijection of 64 bits that leaves no trace of order.
constexpr std::uint64_t mixed(std::uint64_t x) {
  x = (x ^ (x >> 30)) * 0xBF58476D1CE4E5B9ULL;
  x = (x ^ (x >> 27)) * 0x94D049BB133111EBULL;
  return x ^ (x >> 31);
}

}  // namespace wheelend
