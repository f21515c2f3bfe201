// An altitude is no distance driven, although both are lengths.
#include "wheelend/quantities.hpp"

wheelend::Distance driven([[maybe_unused]] wheelend::Altitude here, [[maybe_unused]] wheelend::Odometer now,
                          [[maybe_unused]] wheelend::Odometer before) {
#ifdef FORBIDDEN
  return here;
#else
  return now - before;
#endif
}
