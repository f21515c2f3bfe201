// Twice as warm has no meaning on a scale with an offset; a difference may be doubled.
#include "wheelend/quantities.hpp"

wheelend::TemperaturePoint warmed(wheelend::TemperaturePoint tire,
                                  [[maybe_unused]] wheelend::TemperatureDifference rise) {
#ifdef FORBIDDEN
  return tire * 2.0;
#else
  return tire + rise * 2.0;
#endif
}
