// A depth is compared with a depth: 4 of what?
#include "wheelend/quantities.hpp"

bool worn(wheelend::TreadDepth depth) {
#ifdef FORBIDDEN
  return depth < 4.0;
#else
  return depth < wheelend::TreadDepth(4.0 * wheelend::thirty_seconds);
#endif
}
