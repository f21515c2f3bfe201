// Wear is a rate only per distance.
#include "wheelend/quantities.hpp"

wheelend::WearRate rate(wheelend::DepthChange worn, [[maybe_unused]] wheelend::Distance driven) {
#ifdef FORBIDDEN
  return worn;
#else
  return worn / driven;
#endif
}
