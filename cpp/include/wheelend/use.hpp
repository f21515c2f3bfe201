// How far a unit runs: its odometer readings as one track, and the distance a day.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "wheelend/inspections.hpp"

namespace wheelend {

// A unit's odometer readings that can stand together: time never runs back, nor does the odometer, nor faster
// than a vehicle can go. Kilometres and days (fractions from the time of day).
struct Track {
  std::vector<double> day;
  std::vector<double> km;
  double km_per_day = 0.0;     // NaN where the track is too short to say
  double km_per_day_se = 0.0;  // of the mean over the coming months, from this track alone
  int blocks = 0;              // stretches of about a month that the two rest on
  [[nodiscard]] bool any() const { return !day.empty(); }
  // Odometer at a day, straight between readings, at km_per_day outside them.
  [[nodiscard]] double at(double when, double km_per_day_outside) const;
};

// Error of a mean over `blocks` months as a forecast of the coming months, when months scatter by one: the
// mean's own, and that of the months ahead.
double forecast_error_share(int blocks);

// Tracks per unit from readings up to as_of. unit_of[p] is the unit of position p.
std::vector<Track> odometer_tracks(const ReadingColumns& readings, std::span<const std::int32_t> unit_of,
                                   std::size_t units, std::int32_t as_of);

// For each row: 1 where its odometer cannot stand with the unit's others (typing error, reset), else 0.
std::vector<std::uint8_t> odometers_out_of_line(const ReadingColumns& readings,
                                                std::span<const std::int32_t> unit_of, std::size_t units);

}  // namespace wheelend
