// An absolute pressure less a gauge reading is neither a difference nor a pressure of a tire.
#include "wheelend/quantities.hpp"

wheelend::PressureDifference lost(wheelend::AbsolutePressure before,
                                  [[maybe_unused]] wheelend::GaugePressure read,
                                  [[maybe_unused]] wheelend::AbsolutePressure after) {
#ifdef FORBIDDEN
  return before - read;
#else
  return before - after;
#endif
}
