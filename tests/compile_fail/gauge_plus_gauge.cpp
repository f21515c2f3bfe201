// Two gauge readings do not add up to a third; a reading moves by a difference.
#include "wheelend/quantities.hpp"

wheelend::GaugePressure inflate(wheelend::GaugePressure read, [[maybe_unused]] wheelend::GaugePressure other,
                                [[maybe_unused]] wheelend::PressureDifference added) {
#ifdef FORBIDDEN
  return read + other;
#else
  return read + added;
#endif
}
