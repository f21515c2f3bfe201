#include "wheelend/air_loss.hpp"

#include <cmath>

#include "wheelend/pressure.hpp"
#include "wheelend/unit_labels.hpp"

namespace wheelend {

namespace {
const double atmosphere_psi = convert(sea_level_pressure.si(), Measure::kilopascal, Measure::psi) / 1000.0;
}

double loss_per_minute_at(double reference, double start, double end, double minutes) {
  const double per_minute = std::log((start + atmosphere_psi) / (end + atmosphere_psi)) / minutes;
  return per_minute * (reference + atmosphere_psi);
}

double loss_per_minute_at(double reference, double start, double loss_per_minute) {
  return loss_per_minute_at(reference, start, start - loss_per_minute, 1.0);
}

}  // namespace wheelend
