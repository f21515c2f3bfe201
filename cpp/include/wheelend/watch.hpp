// A long computation seen from outside: how far it is, and a way to stop it.
#pragma once

#include <atomic>

#include "wheelend/error.hpp"

namespace wheelend {

// It was told to stop: there is no result.
struct Stopped : Error {
  using Error::Error;
};

// Shared between the thread that computes and one that looks on.
struct Watch {
  std::atomic<int> percent{0};
  std::atomic<bool> stop{false};
};

// What the computing side calls; `watch` may be null.
inline void told(Watch* watch, double share_done) {
  if (watch == nullptr) {
    return;
  }
  watch->percent = static_cast<int>(100.0 * share_done);
  if (watch->stop) {
    throw Stopped("stopped");
  }
}

}  // namespace wheelend
