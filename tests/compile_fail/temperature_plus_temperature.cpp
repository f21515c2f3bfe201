// Two temperatures do not add up; a temperature moves by a difference.
#include "wheelend/quantities.hpp"

wheelend::TemperaturePoint warmed(wheelend::TemperaturePoint tire,
                                  [[maybe_unused]] wheelend::TemperaturePoint ambient,
                                  [[maybe_unused]] wheelend::TemperatureDifference rise) {
#ifdef FORBIDDEN
  return tire + ambient;
#else
  return tire + rise;
#endif
}
