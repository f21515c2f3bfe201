// Two translation units include every header, one in alphabetical order and one in the reverse; both are
// linked into this program. A function that is not inline would be defined twice, and a constant that is not
// inline would have two addresses.
#include <gtest/gtest.h>

namespace wheelend::test {
const void* table_seen_forward();
const void* table_seen_backward();
const void* pressure_seen_forward();
const void* pressure_seen_backward();
}  // namespace wheelend::test

TEST(Headers, AreOneProgramInEitherOrder) {
  EXPECT_EQ(wheelend::test::table_seen_forward(), wheelend::test::table_seen_backward());
  EXPECT_EQ(wheelend::test::pressure_seen_forward(), wheelend::test::pressure_seen_backward());
}
