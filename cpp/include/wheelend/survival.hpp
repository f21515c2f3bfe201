// How many of a kind still live at an age, without a law: the product-limit curve, the test whether groups
// live alike, and proportional hazards. Lives are exact, or still running; they may be watched from an age
// on. Plain doubles.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

namespace wheelend {

// Rows of lives: `life` > `entry` >= 0, failed 1 or 0 (still running at `life`), `count` of 0 or more.
struct Lives {
  std::span<const double> life, entry, count;
  std::span<const std::uint8_t> failed;
};

struct SurvivalStep {
  double time = 0.0;      // of a failure
  double at_risk = 0.0;   // lives that were watched just before
  double failures = 0.0;  // at exactly that time
  double survival = 1.0;  // product limit (Kaplan, Meier 1958)
  double se = 0.0;        // Greenwood 1926; 0 where survival is 0
  double hazard = 0.0;    // cumulative (Nelson 1969, Aalen 1978)
  double hazard_se = 0.0;
};
// Throws ColumnError for rows that are none, and where nothing failed.
std::vector<SurvivalStep> survival_curve(const Lives& lives);

// Mean of the life up to `horizon`, and its standard error.
struct RestrictedMean {
  double mean = 0.0, se = 0.0;
};
RestrictedMean restricted_mean(std::span<const SurvivalStep> curve, double horizon);

// Log-rank test that the groups 0 .. groups - 1 live alike (Mantel 1966): chi-squared of `freedom`.
struct LogRank {
  double chi_squared = 0.0;
  std::int64_t freedom = 0;
  double p = 0.0;
};
LogRank log_rank(const Lives& lives, std::span<const std::int64_t> group, std::int64_t groups);

// hazard(t, x) = hazard0(t) exp(coefficients . x), by partial likelihood (Cox 1972).
enum class Ties : std::uint8_t { breslow, efron };
struct HazardFit {
  std::vector<double> coefficients;
  std::vector<double> covariance;  // row by row; from the observed information
  double log_likelihood = 0.0, log_likelihood_at_zero = 0.0;
  bool settled = false;  // false: no maximum (a covariate parts the failed from the others), or no end
};
// `x`: covariates row by row, `width` of them. Counts are not taken: a row is a life.
HazardFit fit_hazards(const Lives& lives, std::span<const double> x, std::size_t width, Ties ties);

}  // namespace wheelend
