// A tread depth is not compared with a lining thickness, although both are lengths.
#include "wheelend/quantities.hpp"

bool worn(wheelend::TreadDepth depth, [[maybe_unused]] wheelend::LiningThickness lining,
          [[maybe_unused]] wheelend::TreadDepth limit) {
#ifdef FORBIDDEN
  return depth < lining;
#else
  return depth < limit;
#endif
}
