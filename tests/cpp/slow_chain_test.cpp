// What was set anew, and which readings are slips, at one place: courses by their odds.
#include "slow_chain.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <vector>

#include "near.hpp"

using namespace wheelend;
using test::near;

namespace {

double normal(double off, double variance) {
  return std::exp(-0.5 * off * off / variance) / std::sqrt(2.0 * std::numbers::pi * variance);
}

// About 5 when new, read every 100 days with a spread of 0.4.
std::vector<SlowReading> read(const std::vector<double>& left) {
  std::vector<SlowReading> out;
  for (std::size_t i = 0; i < left.size(); ++i) {
    out.push_back({.time = 100.0 * static_cast<double>(i), .left = left[i]});
  }
  return out;
}
SlowPlace worn_by(double per_day) {
  return {.wear = [per_day](double from, double to) { return per_day * (to - from); },
          .full = 5.0,
          .full_spread = 0.5};
}

double weight_of(const std::vector<SlowCourse>& courses, std::size_t begin) {
  double sum = 0.0;
  for (const SlowCourse& c : courses) {
    sum += last_begin(c.chain) == begin ? c.weight : 0.0;
  }
  return sum;
}

}  // namespace

// 3.6 and 4.8, without wear: it went on, it was set anew (100 / 10000 + 0.001), one of the two is a slip
// (0.02 over 12 mm). That something else is there (100 / 4000 + 0.001) is not said by the last reading alone.
TEST(SlowChain, TwoReadingsByHand) {
  const double anew = 100.0 / 10000.0 + 0.001, other = 100.0 / 4000.0 + 0.001;
  const double on = (0.98 - anew - other) * normal(1.2, 0.32);
  const double fresh = anew * normal(0.2, 0.25 + 0.16);
  // A first that is a slip leaves a level anywhere in 12 mm, which is then read, or set anew.
  const double last = 0.02 / 12.0,
               first = 0.02 / 0.98 * ((0.98 - anew - other) * normal(1.2, 144.16) + fresh);
  const std::vector<SlowCourse> courses = slow_courses(read({3.6, 4.8}), worn_by(0.0));
  ASSERT_EQ(courses.size(), 6U);  // each of three with the first believed or not
  const double both_slips = 0.02 / 0.98 * last;
  const double all = on + fresh + last + first + both_slips;
  EXPECT_TRUE(near(weight_of(courses, 1), fresh / 0.98 / all, {.relative = 1e-9}));
  double goes_on = 0.0, slips = 0.0;
  for (const SlowCourse& c : courses) {
    const bool both = c.chain.believed[0] && c.chain.believed[1];
    goes_on += both && c.chain.cuts.empty() ? c.weight : 0.0;
    slips += !both && c.chain.cuts.empty() ? c.weight : 0.0;
  }
  EXPECT_TRUE(near(goes_on, on / all, {.relative = 1e-9}));
  EXPECT_TRUE(near(slips, 1.0 - (on + fresh / 0.98) / all, {.relative = 1e-9}));
}

TEST(SlowChain, WhatWasSetAnewBeyondDoubt) {
  const std::vector<SlowCourse> courses = slow_courses(read({2.0, 1.9, 5.1, 5.0, 4.9}), worn_by(1e-3));
  const Chain& likeliest = courses.front().chain;
  ASSERT_EQ(likeliest.cuts.size(), 1U);
  EXPECT_EQ(likeliest.cuts[0].visit, 2U);
  EXPECT_TRUE(likeliest.cuts[0].as_new);
  EXPECT_EQ(likeliest.believed, std::vector<bool>(5, true));
  EXPECT_GT(weight_of(courses, 2), 0.95);
}

// A step of twice the error of a reading: one reading on either side leaves it open, four on either side
// hardly.
TEST(SlowChain, ManyReadingsTellASmallAdjustmentFromAnError) {
  SlowPlace place = worn_by(1e-3);
  place.full_spread = 0.3;
  const double few = weight_of(slow_courses(read({4.2, 5.0}), place), 1);
  EXPECT_GT(few, 0.03);
  EXPECT_LT(few, 0.5);
  const double many =
      weight_of(slow_courses(read({4.4, 4.4, 4.2, 4.2, 4.1, 4.0, 5.0, 5.0, 4.9, 4.9, 4.8, 4.7}), place), 6);
  EXPECT_GT(many, 0.6);
}

// Near its limit it is set anew sooner: the same two readings, with and without a limit just below.
TEST(SlowChain, WhatIsDueIsLikelierSetAnew) {
  SlowPlace place = worn_by(0.0);
  const double far = weight_of(slow_courses(read({4.0, 4.8}), place), 1);
  place.limit = 3.7;
  EXPECT_GT(weight_of(slow_courses(read({4.0, 4.8}), place), 1), 2.0 * far);
}

TEST(SlowChain, TheLastReadingAloneIsNoOtherThing) {
  for (const SlowCourse& c : slow_courses(read({5.0, 5.1, 5.0, 1.0}), worn_by(1e-3))) {
    EXPECT_LT(last_begin(c.chain), 3U) << c.weight;
  }
  EXPECT_FALSE(slow_courses(read({5.0, 5.1, 5.0, 1.0}), worn_by(1e-3)).front().chain.believed[3]);
  const Chain twice = slow_courses(read({5.0, 5.1, 5.0, 1.0, 1.0}), worn_by(1e-3)).front().chain;
  ASSERT_EQ(twice.cuts.size(), 1U);
  EXPECT_EQ(twice.cuts[0].visit, 3U);
  EXPECT_EQ(twice.cuts[0].begun, Begun::jump);
}

TEST(SlowChain, ReadingsManyYearsApart) {
  SlowPlace place = worn_by(1e-4);
  place.limit = 3.9;
  std::vector<SlowReading> readings = read({4.0, 4.8, 4.7});
  readings[1].time = 8000.0, readings[2].time = 16000.0;
  double sum = 0.0;
  for (const SlowCourse& c : slow_courses(readings, place)) {
    EXPECT_GE(c.weight, 0.0);
    sum += c.weight;
  }
  EXPECT_TRUE(near(sum, 1.0, {.relative = 1e-12}));
}

TEST(SlowChain, OneReadingHasItsCourses) {
  const std::vector<SlowCourse> courses = slow_courses(read({3.0}), worn_by(1e-3));
  double sum = 0.0;
  for (const SlowCourse& c : courses) {
    sum += c.weight;
    EXPECT_EQ(c.chain.believed.size(), 1U);
  }
  EXPECT_TRUE(near(sum, 1.0, {.relative = 1e-12}));
  EXPECT_TRUE(courses.front().chain.believed[0]);
}
