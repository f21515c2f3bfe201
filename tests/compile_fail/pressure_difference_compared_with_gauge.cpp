// A loss of pressure is not compared with a pressure.
#include "wheelend/quantities.hpp"

bool leaks(wheelend::PressureDifference lost, [[maybe_unused]] wheelend::GaugePressure read,
           [[maybe_unused]] wheelend::PressureDifference allowed) {
#ifdef FORBIDDEN
  return lost > read;
#else
  return lost > allowed;
#endif
}
