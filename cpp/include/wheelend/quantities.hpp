// All kinds of the project, and the units to write them in. With kind.hpp the only header that includes
// Boost.Units.
#pragma once

#include <boost/units/base_unit.hpp>
#include <boost/units/conversion.hpp>
#include <boost/units/physical_dimensions/length.hpp>
#include <boost/units/physical_dimensions/mass.hpp>
#include <boost/units/physical_dimensions/pressure.hpp>
#include <boost/units/physical_dimensions/temperature.hpp>
#include <boost/units/physical_dimensions/time.hpp>
#include <boost/units/systems/si/dimensionless.hpp>
#include <boost/units/systems/si/length.hpp>
#include <boost/units/systems/si/mass.hpp>
#include <boost/units/systems/si/pressure.hpp>
#include <boost/units/systems/si/temperature.hpp>
#include <boost/units/systems/si/time.hpp>

#include "wheelend/kind.hpp"
#include "wheelend/unit_labels.hpp"

namespace wheelend {

namespace bu = boost::units;

// Units. The numbers of base units must be unique in a program: ours run from 7301, in this list and nowhere
// else.
// clang-format off
struct ThirtySecondBase : bu::base_unit<ThirtySecondBase, bu::length_dimension, 7301> { static const char* name() { return "thirty-second of an inch"; } };
struct MillimetreBase   : bu::base_unit<MillimetreBase,   bu::length_dimension, 7302> { static const char* name() { return "millimetre"; } };
struct InchBase         : bu::base_unit<InchBase,         bu::length_dimension, 7303> { static const char* name() { return "inch"; } };
struct MileBase         : bu::base_unit<MileBase,         bu::length_dimension, 7304> { static const char* name() { return "mile"; } };
struct KilometreBase    : bu::base_unit<KilometreBase,    bu::length_dimension, 7305> { static const char* name() { return "kilometre"; } };
struct FootBase         : bu::base_unit<FootBase,         bu::length_dimension, 7306> { static const char* name() { return "foot"; } };
struct PsiBase          : bu::base_unit<PsiBase,          bu::pressure_dimension, 7307> { static const char* name() { return "pound-force per square inch"; } };
struct KilopascalBase   : bu::base_unit<KilopascalBase,   bu::pressure_dimension, 7308> { static const char* name() { return "kilopascal"; } };
struct BarBase          : bu::base_unit<BarBase,          bu::pressure_dimension, 7309> { static const char* name() { return "bar"; } };
struct PoundBase        : bu::base_unit<PoundBase,        bu::mass_dimension, 7310> { static const char* name() { return "pound"; } };
struct DayBase          : bu::base_unit<DayBase,          bu::time_dimension, 7311> { static const char* name() { return "day"; } };
struct FahrenheitDegreeBase : bu::base_unit<FahrenheitDegreeBase, bu::temperature_dimension, 7312> { static const char* name() { return "degree Fahrenheit (difference)"; } };
// clang-format on

}  // namespace wheelend

// The factors are those of the one table in unit_labels.hpp.
#define WHEELEND_UNIT(BASE, SI, MEASURE)                                              \
  BOOST_UNITS_DEFINE_CONVERSION_FACTOR(wheelend::BASE, SI, double,                    \
                                       wheelend::factor(wheelend::Measure::MEASURE)); \
  BOOST_UNITS_DEFAULT_CONVERSION(wheelend::BASE, SI)
WHEELEND_UNIT(ThirtySecondBase, boost::units::si::length, thirty_seconds);
WHEELEND_UNIT(MillimetreBase, boost::units::si::length, millimetre);
WHEELEND_UNIT(InchBase, boost::units::si::length, inch);
WHEELEND_UNIT(MileBase, boost::units::si::length, mile);
WHEELEND_UNIT(KilometreBase, boost::units::si::length, kilometre);
WHEELEND_UNIT(FootBase, boost::units::si::length, foot);
WHEELEND_UNIT(PsiBase, boost::units::si::pressure, psi);
WHEELEND_UNIT(KilopascalBase, boost::units::si::pressure, kilopascal);
WHEELEND_UNIT(BarBase, boost::units::si::pressure, bar);
WHEELEND_UNIT(PoundBase, boost::units::si::mass, pound);
WHEELEND_UNIT(FahrenheitDegreeBase, boost::units::si::temperature, degree_fahrenheit);
#undef WHEELEND_UNIT
BOOST_UNITS_DEFINE_CONVERSION_FACTOR(wheelend::DayBase, boost::units::si::time, double,
                                     86400.0);  // 24 h of 3600 s, SI brochure table 8
BOOST_UNITS_DEFAULT_CONVERSION(wheelend::DayBase, boost::units::si::time);

namespace wheelend {

inline constexpr ThirtySecondBase::unit_type thirty_seconds;
inline constexpr MillimetreBase::unit_type millimetres;
inline constexpr InchBase::unit_type inches;
inline constexpr bu::si::length metres;
inline constexpr FootBase::unit_type feet;
inline constexpr MileBase::unit_type miles;
inline constexpr KilometreBase::unit_type kilometres;
inline constexpr PsiBase::unit_type psi;
inline constexpr KilopascalBase::unit_type kilopascals;
inline constexpr BarBase::unit_type bars;
inline constexpr bu::si::pressure pascals;
inline constexpr PoundBase::unit_type pounds;
inline constexpr bu::si::mass kilograms;
inline constexpr DayBase::unit_type days;
inline constexpr bu::si::temperature kelvins;
inline constexpr FahrenheitDegreeBase::unit_type fahrenheit_degrees;

// Amounts
struct DepthChangeTag {
  static constexpr const char* name = "depth change";
};
struct PressureDifferenceTag {
  static constexpr const char* name = "pressure difference";
};
struct TemperatureDifferenceTag {
  static constexpr const char* name = "temperature difference";
};
struct DistanceTag {
  static constexpr const char* name = "distance";
};
struct DurationTag {
  static constexpr const char* name = "duration";
};
struct LoadTag {
  static constexpr const char* name = "load";
};
struct WearRateTag {
  static constexpr const char* name = "wear rate";
};
struct DailyUseTag {
  static constexpr const char* name = "daily use";
};

using DepthChange = Kind<DepthChangeTag, bu::si::length>;
using PressureDifference = Kind<PressureDifferenceTag, bu::si::pressure>;
using TemperatureDifference = Kind<TemperatureDifferenceTag, bu::si::temperature>;
using Distance = Kind<DistanceTag, bu::si::length>;
using Duration = Kind<DurationTag, bu::si::time>;
using Load = Kind<LoadTag, bu::si::mass>;
using WearRate = Kind<WearRateTag, bu::si::dimensionless>;  // metres of depth per metre travelled
using DailyUse = Kind<DailyUseTag, bu::divide_typeof_helper<bu::si::length, bu::si::time>::type>;

// Points: what a gauge, an odometer, a thermometer or a calendar shows.
struct TreadDepthTag {
  using difference = DepthChange;
  static constexpr const char* name = "tread depth";
};
struct LiningThicknessTag {
  using difference = DepthChange;
  static constexpr const char* name = "lining thickness";
};
struct GaugePressureTag {
  using difference = PressureDifference;
  static constexpr const char* name = "gauge pressure";
};
struct AbsolutePressureTag {
  using difference = PressureDifference;
  static constexpr const char* name = "absolute pressure";
};
struct TemperaturePointTag {
  using difference = TemperatureDifference;
  using own_unit_only = void;
  static constexpr const char* name = "temperature";
};
struct OdometerTag {
  using difference = Distance;
  static constexpr const char* name = "odometer";
};
struct AltitudeTag {
  using difference = Distance;
  static constexpr const char* name = "altitude";
};
struct DateTag {
  using difference = Duration;
  static constexpr const char* name = "date";
};

using TreadDepth = Kind<TreadDepthTag, bu::si::length>;
using LiningThickness = Kind<LiningThicknessTag, bu::si::length>;
using GaugePressure = Kind<GaugePressureTag, bu::si::pressure>;        // above the local atmosphere
using AbsolutePressure = Kind<AbsolutePressureTag, bu::si::pressure>;  // above vacuum
using TemperaturePoint = Kind<TemperaturePointTag, bu::si::temperature>;
using Odometer = Kind<OdometerTag, bu::si::length>;
using Altitude = Kind<AltitudeTag, bu::si::length>;
using Date = Kind<DateTag, bu::si::time>;  // counted from 1970-01-01

// Bridges between kinds; there are no others.
constexpr AbsolutePressure to_absolute(GaugePressure p, AbsolutePressure atmosphere) {
  return AbsolutePressure::from_si(p.si() + atmosphere.si());
}
constexpr GaugePressure to_gauge(AbsolutePressure p, AbsolutePressure atmosphere) {
  return GaugePressure::from_si(p.si() - atmosphere.si());
}
constexpr WearRate operator/(DepthChange d, Distance x) { return WearRate::from_si(d.si() / x.si()); }
constexpr DepthChange operator*(WearRate r, Distance x) { return DepthChange::from_si(r.si() * x.si()); }
constexpr Distance operator/(DepthChange d, WearRate r) { return Distance::from_si(d.si() / r.si()); }
constexpr DailyUse operator/(Distance x, Duration t) { return DailyUse::from_si(x.si() / t.si()); }
constexpr Duration operator/(Distance x, DailyUse u) { return Duration::from_si(x.si() / u.si()); }

// A temperature is written with its label, since its scales differ by an offset.
inline TemperaturePoint temperature(double value, Measure label) {
  return TemperaturePoint::from_si(convert(value, label, Measure::kelvin));
}

}  // namespace wheelend
