// A depth is not asked for in a unit of pressure.
#include "wheelend/quantities.hpp"

double write(wheelend::TreadDepth depth) {
#ifdef FORBIDDEN
  return depth.in(wheelend::kilopascals);
#else
  return depth.in(wheelend::millimetres);
#endif
}
