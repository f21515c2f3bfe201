// Gauge and absolute pressure are joined by to_absolute() alone.
#include "wheelend/quantities.hpp"

wheelend::AbsolutePressure inside(wheelend::GaugePressure read, wheelend::AbsolutePressure atmosphere) {
#ifdef FORBIDDEN
  return read + atmosphere;
#else
  return wheelend::to_absolute(read, atmosphere);
#endif
}
