// Two odometer readings do not add up; an odometer moves by a distance.
#include "wheelend/quantities.hpp"

wheelend::Odometer later(wheelend::Odometer read, [[maybe_unused]] wheelend::Odometer other,
                         [[maybe_unused]] wheelend::Distance driven) {
#ifdef FORBIDDEN
  return read + other;
#else
  return read + driven;
#endif
}
