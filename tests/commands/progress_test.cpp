#include "commands/progress.h"

#include <gtest/gtest.h>

namespace brimwatch {
namespace {

TEST(Progress, says_rate_share_and_time_left) {
  EXPECT_EQ(progress_text({12'400'000, "ticks", 0.4, 4, "10:42"}),
            "12.4M ticks, 3.10M/s, 40 % done, less than 10 s left, at 10:42");
  EXPECT_EQ(progress_text({120, "files", 0.25, 60, ""}), "120 files, 2/s, 25 % done, 3 min left");
  EXPECT_EQ(progress_text({50, "files", 0.01, 100, ""}), "50 files, 1/s, 1 % done, 2 h 45 min left");
}

TEST(Progress, leaves_out_what_is_not_known_yet) {
  EXPECT_EQ(progress_text({3'000'000, "ticks", -1, 2, ""}), "3.00M ticks, 1.50M/s");
  EXPECT_EQ(progress_text({3'000, "ticks", 0.5, 0.2, ""}), "3000 ticks, 50 % done");
  EXPECT_EQ(progress_text({30, "ticks", 0.001, 5, ""}), "30 ticks, 6/s, 0 % done");
  EXPECT_EQ(progress_text({0, "files", 0, 0, ""}), "0 files, 0 % done");
}

TEST(Progress, never_promises_a_time_when_all_is_done_nor_more_than_all) {
  EXPECT_EQ(progress_text({10, "files", 1, 5, ""}), "10 files, 2/s, 100 % done");
  EXPECT_EQ(progress_text({10, "files", 1.2, 5, ""}), "10 files, 2/s, 100 % done");
}

}  // namespace
}  // namespace brimwatch
