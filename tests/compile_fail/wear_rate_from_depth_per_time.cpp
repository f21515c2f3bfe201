// Depth per time is not depth per distance.
#include "wheelend/quantities.hpp"

wheelend::WearRate rate(wheelend::DepthChange worn, [[maybe_unused]] wheelend::Duration time,
                        [[maybe_unused]] wheelend::Distance driven) {
#ifdef FORBIDDEN
  return worn / time;
#else
  return worn / driven;
#endif
}
