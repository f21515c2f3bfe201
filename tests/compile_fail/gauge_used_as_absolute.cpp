// A gauge reading is not an absolute pressure: the atmosphere is missing.
#include "wheelend/quantities.hpp"

wheelend::AbsolutePressure inside(wheelend::GaugePressure read,
                                  [[maybe_unused]] wheelend::AbsolutePressure atmosphere) {
#ifdef FORBIDDEN
  return read;
#else
  return wheelend::to_absolute(read, atmosphere);
#endif
}
