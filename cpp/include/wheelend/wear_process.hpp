// Random wear fitted to what was lost between readings: three processes with independent increments and one
// rate for all, by maximum likelihood. Plain doubles.
#pragma once

#include <span>

namespace wheelend {

// Each: two parameters as in first_passage.hpp, and the log likelihood there. `exposure` and `wear` are steps
// between successive readings: exposure above 0, wear of any sign for Wiener, above 0 for the others, and not
// all at one rate. Throws ColumnError otherwise.
struct WienerWear {
  double drift = 0.0, volatility = 0.0, log_likelihood = 0.0;
};
WienerWear fit_wiener_wear(std::span<const double> exposure, std::span<const double> wear);

struct GammaWear {
  double shape_rate = 0.0, scale = 0.0, log_likelihood = 0.0;
};
// Shape by the likelihood's one equation, scale from the mean (van Noortwijk, Reliab. Eng. Syst. Saf. 94
// (2009) 2, section 4).
GammaWear fit_gamma_wear(std::span<const double> exposure, std::span<const double> wear);

struct InverseGaussianWear {
  double rate = 0.0, shape = 0.0, log_likelihood = 0.0;
};
InverseGaussianWear fit_inverse_gaussian_wear(std::span<const double> exposure, std::span<const double> wear);

}  // namespace wheelend
