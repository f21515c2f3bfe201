// Lives that are known exactly, only to lie between two inspections, or only to exceed what was run so far:
// exponential, Weibull and lognormal laws by maximum likelihood. Plain doubles.
#pragma once

#include <cstdint>
#include <span>

namespace wheelend {

enum class LifeLaw : std::uint8_t { exponential, weibull, lognormal };

// log life = location + spread w, w of the law's standard form (smallest extreme value, or normal). Weibull:
// scale exp(location), shape 1 / spread; exponential: mean exp(location), spread 1.
struct LifeFit {
  LifeLaw law = LifeLaw::weibull;
  double location = 0.0, spread = 1.0;
  // Covariance of location and log spread, from the observed information; 0 for what is not estimated.
  double location_variance = 0.0, covariance = 0.0, log_spread_variance = 0.0;
  double log_likelihood = 0.0;         // exact lives by their density
  bool settled = false;                // false: the likelihood has no maximum, or the search did not end
  double items = 0.0, failures = 0.0;  // failures: all that are not known to be still running
};

// A row: `count` lives in (low, high]; low equal to high: exactly there; high infinite: still running at low;
// low 0: failed by high. Throws ColumnError for other rows, and where no row bounds lives from above.
LifeFit fit_life(LifeLaw law, std::span<const double> low, std::span<const double> high,
                 std::span<const double> count);

// Life by which a share p has failed, and the standard error of its log (delta method). p in (0, 1).
struct LifeQuantile {
  double life = 0.0, log_se = 0.0;
};
LifeQuantile life_quantile(const LifeFit& fit, double p);

}  // namespace wheelend
