// A gauge pressure is no tread depth: the two have different dimensions.
#include "wheelend/quantities.hpp"

wheelend::TreadDepth keep([[maybe_unused]] wheelend::TreadDepth depth,
                          [[maybe_unused]] wheelend::GaugePressure pressure) {
#ifdef FORBIDDEN
  return pressure;
#else
  return depth;
#endif
}
