// The exceptions of the core. Bad calls raise; bad readings never do (they become issues one layer up).
#pragma once

#include <stdexcept>
#include <string>

namespace wheelend {

// Base of all errors of the core.
struct Error : std::runtime_error {
  using std::runtime_error::runtime_error;
};

// A label is unknown, or of another dimension than the quantity.
struct MeasureError : Error {
  using Error::Error;
};

// A column has the wrong length, or a number lies outside what the function is defined for.
struct ColumnError : Error {
  using Error::Error;
};

// A limit row cannot be used as written.
struct LimitError : Error {
  using Error::Error;
};

inline void require_same_size(std::size_t a, std::size_t b, const char* what) {
  if (a != b) {
    throw ColumnError(std::string(what) + ": expected length " + std::to_string(a) + ", got " +
                      std::to_string(b));
  }
}

}  // namespace wheelend
