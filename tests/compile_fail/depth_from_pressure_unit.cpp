// A depth is not written in a unit of pressure.
#include "wheelend/quantities.hpp"

wheelend::TreadDepth read(double number) {
#ifdef FORBIDDEN
  return wheelend::TreadDepth(number * wheelend::psi);
#else
  return wheelend::TreadDepth(number * wheelend::millimetres);
#endif
}
