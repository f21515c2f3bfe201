#include "wheelend/cold_pressures.hpp"

#include <cmath>

#include "wheelend/verdict.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double hundred = 100.0;
// Gas temperatures for which the ideal law is good to 0.5 % up to 1 MPa: from memory, compressibility tables
// of air.
constexpr double coldest_gas = 233.15, hottest_gas = 373.15;  // K, -40 and +100 degC

using Notes = std::uint32_t;
constexpr Notes bit(ColdNote n) { return static_cast<Notes>(n); }

struct Cold {
  double value = nan;
  ColdMethod method = ColdMethod::none;
  Notes notes = 0;
};

class Checking {
 public:
  Checking(const ReadingColumns& readings, const ColdColumns& conditions, const PositionColumns& positions,
           const TireColumns& tires, const std::vector<StateRule>& rules, const ColdOptions& options)
      : r_(readings),
        c_(conditions),
        positions_(positions),
        tires_(tires),
        rules_(rules),
        options_(options),
        rows_(rows_by_position(readings, positions.facts.size())) {}

  ColdTable run() {
    for (std::size_t p = 0; p < positions_.facts.size(); ++p) {
      check_position(p);
    }
    return std::move(out_);
  }

 private:
  [[nodiscard]] std::size_t row_at(std::int64_t i) const {
    return static_cast<std::size_t>(rows_.order[static_cast<std::size_t>(i)]);
  }

  void check_position(std::size_t p) {
    const std::int64_t first = rows_.start[p];
    std::int64_t end = first;
    while (end < rows_.start[p + 1] && r_.day[row_at(end)] <= options_.as_of) {
      ++end;
    }
    std::int64_t last_lowest = -1, last_begin = first, last_end = first;
    for (std::int64_t i = first; i < end;) {
      std::int64_t j = i, lowest = -1;
      for (; j < end && r_.microsecond[row_at(j)] == r_.microsecond[row_at(i)]; ++j) {
        const double here = r_.pressure.at(row_at(j));
        if (!std::isnan(here) && (lowest < 0 || here < r_.pressure.at(row_at(lowest)))) {
          lowest = j;
        }
      }
      if (lowest >= 0 && options_.all) {
        check(p, row_at(lowest), 0);
      }
      if (lowest >= 0) {
        last_lowest = lowest, last_begin = i, last_end = j;
      }
      i = j;
    }
    if (last_lowest >= 0 && !options_.all) {
      const bool changed = tire_changed(r_, rows_, last_begin, last_end, end);
      check(p, row_at(last_lowest), changed ? bit(ColdNote::tire_changed_since) : 0);
    }
  }

  [[nodiscard]] double tire_number(const NumberColumn& of_tire, const NumberColumn& of_position,
                                   std::size_t row, Measure want) const {
    const FactCell fact = tire_fact(r_, row, of_tire, of_position);
    return std::isnan(fact.value()) ? nan : convert(fact.value(), fact.column->measure, want);
  }

  [[nodiscard]] Cold by_gas_law(std::size_t row, double temperature, Measure measure, Notes notes) const {
    const TemperaturePoint gas = TemperaturePoint::from_si(convert(temperature, measure, Measure::kelvin));
    const double altitude = c_.altitude.at(row);
    const double metres_up =
        std::isnan(altitude) ? 0.0 : convert(altitude, c_.altitude.measure, Measure::metre);
    if (!(gas.si() >= coldest_gas && gas.si() <= hottest_gas) ||
        !(metres_up >= -5000.0 && metres_up <= 11000.0)) {
      return {nan, ColdMethod::none, notes | bit(ColdNote::outside_range)};
    }
    const AbsolutePressure air =
        std::isnan(altitude) ? sea_level_pressure : standard_pressure(Altitude::from_si(metres_up));
    const Measure m = r_.pressure.measure;
    const double read = r_.pressure.at(row);
    if (gas == options_.reference) {
      return {read, ColdMethod::gas_law, notes};
    }
    const GaugePressure found = GaugePressure::from_si(read * factor(m));
    const GaugePressure cold = at_reference(found, air, gas, options_.reference, air);
    return {cold.si() / factor(m), ColdMethod::gas_law, notes};
  }

  [[nodiscard]] Cold by_subtraction(std::size_t row) const {
    const double rated = tire_number(tires_.rated_load, positions_.rated_load, row, Measure::pound);
    const auto off = federal_hot_subtraction(r_.speed_last_hour.at(row), r_.speed_last_hour.measure, rated,
                                             Measure::pound);
    if (!off) {
      return {nan, ColdMethod::none, bit(ColdNote::warm_without_estimate)};
    }
    return {less_subtraction(r_.pressure.at(row), r_.pressure.measure, *off), ColdMethod::federal_subtraction,
            0};
  }

  [[nodiscard]] Cold cold_of(std::size_t row) const {
    const bool warm = r_.warm.at(row) == 1;
    const double tire = c_.tire_temperature.at(row), ambient = c_.ambient.at(row);
    const bool any = options_.method == ColdMethod::none;
    if (!std::isnan(tire) && (any || options_.method == ColdMethod::gas_law)) {
      return by_gas_law(row, tire, c_.tire_temperature.measure, 0);
    }
    if (warm && (any || options_.method == ColdMethod::federal_subtraction)) {
      return by_subtraction(row);
    }
    if (!warm && !std::isnan(ambient) && (any || options_.method == ColdMethod::gas_law)) {
      return by_gas_law(row, ambient, c_.ambient.measure, bit(ColdNote::from_ambient));
    }
    if (!warm && (any || options_.method == ColdMethod::as_read)) {
      return {r_.pressure.at(row), ColdMethod::as_read, any ? bit(ColdNote::no_temperature) : 0};
    }
    return {nan, ColdMethod::none,
            bit(warm ? ColdNote::warm_without_estimate : ColdNote::method_not_possible)};
  }

  // The first rule that holds. A share of the base is compared exactly; a distance from it on nine decimal
  // places.
  [[nodiscard]] PressureState state_of(double found, double cold, double target, double sidewall) const {
    const Measure m = r_.pressure.measure;
    for (const StateRule& rule : rules_) {
      const double value = rule.of_cold ? cold : found;
      const double base = rule.base == Base::sidewall_max ? sidewall : target;
      if (std::isnan(value) || std::isnan(base)) {
        continue;
      }
      bool in = false;
      if (rule.measure == Measure::percent) {
        const std::array left{Term::of(value)};
        const std::array right{Term::of(base), Term::of(rule.bound), Term::of(Measure::percent)};
        in = holds(left, rule.sense, right);
      } else {
        const std::array left{Term::of(on_nine_places(value))};
        const std::array right{Term::of(on_nine_places(base + convert(rule.bound, rule.measure, m)))};
        in = holds(left, rule.sense, right);
      }
      if (in) {
        return rule.state;
      }
    }
    return std::isnan(cold) || std::isnan(target) ? PressureState::unknown : PressureState::on_target;
  }

  void check(std::size_t p, std::size_t row, Notes notes) {
    const Measure m = r_.pressure.measure;
    const double found = r_.pressure.at(row);
    const double target = std::isnan(positions_.target.at(p))
                              ? nan
                              : convert(positions_.target.at(p), positions_.target.measure, m);
    const double sidewall = tire_number(tires_.sidewall_max, positions_.sidewall_max, row, m);
    const Cold cold = cold_of(row);
    notes |= cold.notes | (std::isnan(target) ? bit(ColdNote::no_target) : 0) |
             ((r_.conflict_at(row) & conflict_pressure) != 0 ? bit(ColdNote::lower_of_two) : 0);
    const double deviation =
        cold.method == ColdMethod::gas_law ? cold.value - target : on_nine_places(cold.value - target);
    const bool stale = (notes & bit(ColdNote::tire_changed_since)) != 0;
    out_.position.push_back(static_cast<std::int32_t>(p));
    out_.row.push_back(static_cast<std::int64_t>(row));
    out_.found.push_back(found);
    out_.cold.push_back(cold.value);
    out_.target.push_back(target);
    out_.deviation.push_back(deviation);
    out_.deviation_percent.push_back(hundred * deviation / target);
    out_.method.push_back(static_cast<std::uint8_t>(cold.method));
    out_.state.push_back(static_cast<std::uint8_t>(stale ? PressureState::unknown
                                                         : state_of(found, cold.value, target, sidewall)));
    out_.notes.push_back(notes);
  }

  const ReadingColumns& r_;
  const ColdColumns& c_;
  const PositionColumns& positions_;
  const TireColumns& tires_;
  const std::vector<StateRule>& rules_;
  const ColdOptions options_;
  const RowsByPosition rows_;
  ColdTable out_;
};

}  // namespace

ColdTable cold_pressures(const ReadingColumns& readings, const ColdColumns& conditions,
                         const PositionColumns& positions, const TireColumns& tires,
                         const std::vector<StateRule>& rules, const ColdOptions& options) {
  return Checking(readings, conditions, positions, tires, rules, options).run();
}

}  // namespace wheelend
