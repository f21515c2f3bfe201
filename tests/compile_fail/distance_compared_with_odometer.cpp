// A distance driven is not compared with what an odometer shows.
#include "wheelend/quantities.hpp"

bool due(wheelend::Distance driven, [[maybe_unused]] wheelend::Odometer read,
         [[maybe_unused]] wheelend::Distance interval) {
#ifdef FORBIDDEN
  return driven > read;
#else
  return driven > interval;
#endif
}
