// Lines of many units fitted together: each unit's line is drawn from one population (a mixed model), so that
// units with few readings lean on the others. Plain doubles. The fit of studies; the fleet's own wear, with
// its curve, its places and its misreads, is fitted elsewhere.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

namespace wheelend {

enum class UnitsDiffer : std::uint8_t {
  level,           // in their level only
  level_and_rate,  // in both, and the two may go together
  independently,   // in both, the two unrelated; depends on where x is zero
};

struct GroupedOptions {
  UnitsDiffer differ = UnitsDiffer::level_and_rate;
  bool restricted = true;  // restricted maximum likelihood (REML); else maximum likelihood
};

// Small symmetric matrices, of (level at x = 0, rate); rows and columns of a rate that is not there are 0.
struct Spread {
  double level = 0.0, covariance = 0.0, rate = 0.0;  // variances and covariance
};

struct GroupedUnit {
  std::int64_t readings = 0;
  double level = 0.0,
         rate = 0.0;   // of the unit's own line: the population's and what the unit adds, shrunken
  Spread conditional;  // of what the unit adds, as if the population were known
  Spread error;        // of the unit's own line, the error of the population's line included
};

struct GroupedFit {
  double level = 0.0, rate = 0.0;  // of the population
  Spread error;                    // of these two
  Spread between;                  // of the units about the population
  double residual_sd = 0.0;
  double minus_two_log_likelihood = 0.0;  // restricted or not, as asked for, all constants included
  bool at_edge = false;  // units do not differ in one of the ways that they were let differ in
  bool settled = false;  // false: the search did not end; do not use the fit
  std::int64_t readings = 0;
  std::vector<GroupedUnit> units;
};

// y = level + rate x + (what the unit adds) + error, all normal (Laird and Ware, Biometrics 38 (1982) 963).
// The likelihood is written in the factor of the variances relative to the error's, with levels, rates and
// error profiled out (Bates and others, J. Stat. Software 67 (2015) no. 1). `unit`: 0 .. units - 1. An empty
// x fits levels alone. The result does not depend on the order of the readings. Throws ColumnError for
// lengths that differ, values that are not finite, fewer than two units, readings that leave no error to
// estimate.
GroupedFit fit_grouped(std::span<const std::int64_t> unit, std::int64_t units, std::span<const double> x,
                       std::span<const double> y, const GroupedOptions& options);

// Values of known variance drawn together, each by V / (V + A), A the variance between them (empirical
// Bayes). Morris, J. Am. Stat. Assoc. 78 (1983) 47, section 5: A solves A = sum w ((k / (k - 1)) (y - mean)^2
// - V) / sum w, w = 1 / (V + A), not below 0; the share drawn is (k - 3) / (k - 1) V / (V + A). With equal
// variances that is the estimator of Efron and Morris, J. Am. Stat. Assoc. 70 (1975) 311, where the values
// differ by more than their errors.
struct Shrunken {
  double mean = 0.0;        // of all, weighted
  double between_sd = 0.0;  // of the true values
  std::vector<double> value, share;
};
// Four values or more; variances above 0. Throws ColumnError otherwise.
Shrunken shrink(std::span<const double> values, std::span<const double> variances);

}  // namespace wheelend
