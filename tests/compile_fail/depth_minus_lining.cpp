// A tread depth and a lining thickness have no difference.
#include "wheelend/quantities.hpp"

wheelend::DepthChange worn_off(wheelend::TreadDepth depth, [[maybe_unused]] wheelend::LiningThickness lining,
                               [[maybe_unused]] wheelend::TreadDepth now) {
#ifdef FORBIDDEN
  return depth - lining;
#else
  return depth - now;
#endif
}
