// A number without a unit is no depth.
#include "wheelend/quantities.hpp"

wheelend::TreadDepth read(double number) {
#ifdef FORBIDDEN
  return wheelend::TreadDepth(number);
#else
  return wheelend::TreadDepth(number * wheelend::thirty_seconds);
#endif
}
