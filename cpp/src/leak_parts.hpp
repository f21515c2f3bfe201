// A mixture of normal distributions of level and loss rate, by class: sound, or one of the classes of leak.
#pragma once

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <span>

#include "leak_model.hpp"

namespace wheelend {

// No initializers: rooms of many parts are made at every reading, and only what is filled is looked at.
struct AirPart {
  double w;           // weight
  double u, b;        // level and rate
  double uu, ub, bb;  // covariances
};

// One distribution that has the mean and the covariance of both.
inline void merge(AirPart& a, const AirPart& b) {
  const double w = a.w + b.w, share = b.w / w, du = b.u - a.u, db = b.b - a.b;
  const double cross = share * (1.0 - share);
  a.uu += share * (b.uu - a.uu) + cross * du * du;
  a.ub += share * (b.ub - a.ub) + cross * du * db;
  a.bb += share * (b.bb - a.bb) + cross * db * db;
  a.u += share * du;
  a.b += share * db;
  a.w = w;
}

inline constexpr std::size_t air_classes = air::leak_classes + 1;  // 0: sound
inline constexpr std::size_t sound_room = 4, leak_room = 2;
inline constexpr std::size_t most_parts = sound_room + air::leak_classes * leak_room;

class AirParts {
 public:
  AirParts() = default;
  ~AirParts() = default;
  AirParts(const AirParts& other) { *this = other; }
  AirParts& operator=(const AirParts& other) {  // what is not filled need not be copied
    count_ = other.count_;
    for (std::size_t j = 0; j < air_classes; ++j) {
      std::copy_n(other.parts_.begin() + first(j), count_[j], parts_.begin() + first(j));
    }
    return *this;
  }

  [[nodiscard]] std::span<AirPart> of(std::size_t of_class) {
    return {parts_.data() + first(of_class), count_[of_class]};
  }
  [[nodiscard]] std::span<const AirPart> of(std::size_t of_class) const {
    return {parts_.data() + first(of_class), count_[of_class]};
  }
  [[nodiscard]] bool empty() const;

  // Into the room of its class: beside the others, or merged with the nearest where that is less than one
  // standard deviation away or the room is full. Without weight: left out.
  void add(std::size_t to_class, const AirPart& part);

  // Weights to a sum of 1; parts of a lesser share go. False where there is no weight at all.
  bool normalize(double least);

  template <class F>
  void each(const F& f) const {
    for (std::size_t j = 0; j < air_classes; ++j) {
      for (const AirPart& p : of(j)) {
        f(j, p);
      }
    }
  }
  template <class F>
  void each(const F& f) {
    for (std::size_t j = 0; j < air_classes; ++j) {
      for (AirPart& p : of(j)) {
        f(j, p);
      }
    }
  }

 private:
  static constexpr std::size_t first(std::size_t of_class) {
    return of_class == 0 ? 0 : sound_room + (of_class - 1) * leak_room;
  }

  std::array<std::uint8_t, air_classes> count_{};
  std::array<AirPart, most_parts> parts_;
};

inline void AirParts::add(std::size_t j, const AirPart& p) {
  if (!(p.w > 0.0)) {
    return;
  }
  const std::span<AirPart> here = of(j);
  const bool full = here.size() == (j == 0 ? sound_room : leak_room);
  std::size_t nearest = 0;
  double least = 0.0;
  for (std::size_t k = 0; k < here.size(); ++k) {
    const AirPart& q = here[k];
    const double du = p.u - q.u, db = p.b - q.b, of_u = p.uu + q.uu, of_b = p.bb + q.bb;
    const double apart = du * du * of_b + db * db * of_u;  // times of_u of_b
    if (apart < of_u * of_b) {
      merge(here[k], p);
      return;
    }
    if (full) {
      const double distance = apart / (of_u * of_b);
      if (k == 0 || distance < least) {
        nearest = k, least = distance;
      }
    }
  }
  if (full) {
    merge(here[nearest], p);
    return;
  }
  parts_[first(j) + count_[j]++] = p;
}

}  // namespace wheelend
