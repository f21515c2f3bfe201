// Two dates do not add up; a date moves by a duration.
#include "wheelend/quantities.hpp"

wheelend::Date due(wheelend::Date read_on, [[maybe_unused]] wheelend::Date other,
                   [[maybe_unused]] wheelend::Duration left) {
#ifdef FORBIDDEN
  return read_on + other;
#else
  return read_on + left;
#endif
}
