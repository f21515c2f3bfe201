// Readings of a unit as levels on its visits.
#include "leak_visits.hpp"

#include <algorithm>
#include <cmath>

#include "wheelend/pressure.hpp"

namespace wheelend {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double reference_kelvin = 293.15;
constexpr double coldest_gas = 233.15, hottest_gas = 393.15;  // K; beyond it the temperature is not believed

Conversion conversion(const NumberColumn& of, Measure to) { return {of.given() ? of.measure : to, to}; }

}  // namespace

LevelReader::LevelReader(const ReadingColumns& readings, const ColdColumns& conditions,
                         const PositionColumns& positions)
    : r_(readings),
      c_(conditions),
      p_(positions),
      tire_kelvin_(conversion(c_.tire_temperature, Measure::kelvin)),
      air_kelvin_(conversion(c_.ambient, Measure::kelvin)),
      metres_(conversion(c_.altitude, Measure::metre)) {}

double LevelReader::kelvin(const NumberColumn& of, const Conversion& to, std::size_t row) {
  const double t = of.at(row);
  if (std::isnan(t)) {
    return nan;
  }
  const double k = to(t);
  return k >= coldest_gas && k <= hottest_gas ? k : nan;
}

double LevelReader::air(std::size_t row) const {
  const double up = c_.altitude.at(row);
  if (std::isnan(up)) {
    return sea_level_pressure.si();
  }
  const double height = metres_(up);
  return height >= -5000.0 && height <= 11000.0 ? standard_pressure(Altitude::from_si(height)).si()
                                                : sea_level_pressure.si();
}

double LevelReader::level(double gauge, double air, double gas) {
  return std::log((std::max(gauge, 0.0) + air) * (reference_kelvin / gas));
}

AirReading LevelReader::reading(std::size_t row, std::int32_t place, double target) const {
  AirReading out;
  out.place = place;
  const double tire = kelvin(c_.tire_temperature, tire_kelvin_, row),
               ambient = kelvin(c_.ambient, air_kelvin_, row);
  const bool warm = r_.warm.at(row) == 1;
  const double outside = air(row);
  out.target =
      std::isnan(target) ? nan : target + outside;  // its logarithm is taken once for all of the place
  out.heat = !std::isnan(tire)      ? KnownHeat::tire
             : !std::isnan(ambient) ? KnownHeat::ambient
                                    : KnownHeat::none;
  const double gas = !std::isnan(tire) ? tire : !std::isnan(ambient) ? ambient : reference_kelvin;
  out.gas = gas == reference_kelvin ? 0.0 : std::log(gas / reference_kelvin);
  out.air = std::isnan(ambient) ? nan : std::isnan(tire) ? out.gas : std::log(ambient / reference_kelvin);
  const double read = r_.pressure.at(row), set = r_.inflated_to.at(row);
  const bool usable = (r_.conflict_at(row) & conflict_pressure) == 0;
  // A warm tire without its own temperature says nothing that could be trended.
  out.level = std::isnan(read) || !usable || (warm && std::isnan(tire))
                  ? nan
                  : level(read * factor(r_.pressure.measure), outside, gas);
  out.filled = std::isnan(set) || (warm && std::isnan(tire))
                   ? nan
                   : level(set * factor(r_.inflated_to.measure), outside, gas);
  return out;
}

void LevelReader::unit(const RowsByPosition& rows, const std::vector<std::int32_t>& positions,
                       std::int32_t as_of, UnitAir& out) const {
  struct Keyed {
    std::int32_t day;
    AirReading reading;
  };
  out.visits.clear(), out.readings.clear();
  out.places = positions.size();
  std::vector<Keyed> all;
  for (std::size_t place = 0; place < positions.size(); ++place) {
    const auto p = static_cast<std::size_t>(positions[place]);
    const double target = p_.target.at(p) * factor(p_.target.measure);
    double absolute = nan, ln_absolute = nan;  // target under the air of the place
    std::int32_t tire = -1;
    bool other = false;
    const std::size_t before = all.size();
    for (std::int64_t i = rows.start[p]; i < rows.start[p + 1]; ++i) {
      const auto row = static_cast<std::size_t>(rows.order[static_cast<std::size_t>(i)]);
      if (r_.day[row] > as_of) {
        break;
      }
      const std::int32_t number = r_.tire_at(row);
      other = other || r_.event.at(row) >= 0 || (tire >= 0 && number >= 0 && number != tire);
      AirReading one = reading(row, static_cast<std::int32_t>(place), target);
      if (one.target != absolute) {
        absolute = one.target;
        ln_absolute = std::log(absolute);
      }
      one.target = ln_absolute;
      one.same_tire = number >= 0 && number == tire;
      tire = number >= 0 ? number : tire;
      if (std::isnan(one.level) && std::isnan(one.filled)) {
        continue;
      }
      one.other_tire = other;
      other = false;
      if (all.size() > before && all.back().day == r_.day[row] && !one.other_tire) {  // a second one that day
        AirReading& first = all.back().reading;
        if (std::isnan(first.level)) {
          first.level = one.level, first.heat = one.heat, first.gas = one.gas;
        }
        first.filled = std::isnan(one.filled) ? first.filled : one.filled;
        continue;
      }
      all.push_back({r_.day[row], one});
    }
  }
  // Places come in their order: the sort is stable, so that a visit lists its places the same way always.
  std::stable_sort(all.begin(), all.end(), [](const Keyed& a, const Keyed& b) { return a.day < b.day; });
  for (const Keyed& k : all) {
    if (out.visits.empty() || out.visits.back().day != k.day) {
      out.visits.push_back({k.day, out.readings.size(), out.readings.size()});
    }
    out.readings.push_back(k.reading);
    out.visits.back().end = out.readings.size();
  }
}

}  // namespace wheelend
