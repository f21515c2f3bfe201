// Work shared out over threads. What is computed may not depend on how it is shared: each index writes its
// own place, and sums are put together afterwards in the order of the indices.
#pragma once

#include <algorithm>
#include <cstddef>
#include <exception>
#include <thread>
#include <vector>

namespace wheelend {

// Calls body(first, last) for contiguous ranges of [0, count), at most one per thread. The first exception,
// by range, is thrown again here.
template <class Body>
void parallel(std::size_t count, int threads, const Body& body) {
  const std::size_t workers = std::min(count, static_cast<std::size_t>(std::max(threads, 1)));
  if (workers <= 1) {
    body(std::size_t{0}, count);
    return;
  }
  std::vector<std::exception_ptr> failed(workers);
  {
    std::vector<std::thread> running;
    for (std::size_t w = 0; w < workers; ++w) {
      running.emplace_back([&, w] {
        try {
          body(count * w / workers, count * (w + 1) / workers);
        } catch (...) {
          failed[w] = std::current_exception();
        }
      });
    }
    for (std::thread& t : running) {
      t.join();
    }
  }
  for (const std::exception_ptr& f : failed) {
    if (f) {
      std::rethrow_exception(f);
    }
  }
}

}  // namespace wheelend
