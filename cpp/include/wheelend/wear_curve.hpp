// The course of a level that wears: how deep a tread is after so much wear, and back. Plain doubles, one
// unit for all depths.
//
// The rate of wear depends on the depth that is left: a new tire wears faster than a worn one. Form of the
// curve: rate proportional to 1 + strength * depth / full, so that depth falls exponentially towards -full /
// strength and always reaches its limit; strength 0 is a straight line. `wear` is counted in depth that a
// tire at half of its full depth loses meanwhile.
#pragma once

namespace wheelend {

struct WearCurve {
  double full = 1.0;      // depth when new, above 0
  double strength = 0.0;  // rate at full depth against rate at none, less 1; at least 0

  [[nodiscard]] double depth_after(double depth, double wear) const;
  // The wear that takes a depth to another; negative when `to` is deeper. Depths above -full / strength.
  [[nodiscard]] double wear_between(double from, double to) const;
  // Depth lost per wear at a depth: 1 at half of the full depth.
  [[nodiscard]] double rate_at(double depth) const;
};

// Depth of a channel (a groove) of an item whose common depth is known: offset from the mould, one-sided
// wear in proportion to what is worn, shoulder wear with its square.
struct Channel {
  double offset = 0.0;
  double one_sided = 0.0;  // share of the common wear that this channel wears
                           // more (its side's sign included)
  double shoulder = 0.0;   // depth lost more over a whole life, as a share of the
                           // full depth; 0 for inner channels

  [[nodiscard]] double depth(double common, double full) const;
  // Depth lost per common depth lost.
  [[nodiscard]] double slope(double common, double full) const;
  // The common depth at which the channel is at `depth`; not above `full` + what an offset may need.
  [[nodiscard]] double common_at(double depth, double full) const;
};

}  // namespace wheelend
