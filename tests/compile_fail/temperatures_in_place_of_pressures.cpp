// The five quantities of at_reference() cannot be given in another order.
#include "wheelend/pressure.hpp"

wheelend::GaugePressure cold(wheelend::GaugePressure read, wheelend::AbsolutePressure here,
                             wheelend::TemperaturePoint gas, wheelend::TemperaturePoint reference) {
#ifdef FORBIDDEN
  return wheelend::at_reference(read, gas, here, reference, here);
#else
  return wheelend::at_reference(read, here, gas, reference, here);
#endif
}
