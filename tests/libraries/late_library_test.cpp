#include "adapters/libraries/late_library.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <stdexcept>

#include "adapters/libraries/cairo.h"
#include "adapters/libraries/curl.h"

namespace brimwatch {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::ThrowsMessage;

TEST(LateLibrary, SaysWhichOneIsNotThere) {
  EXPECT_THAT([] { LateLibrary("libno-such-thing.so.9"); },
              ThrowsMessage<std::runtime_error>(
                  AllOf(HasSubstr("cannot load libno-such-thing.so.9"), HasSubstr("No such file"))));
}

TEST(LateLibrary, SaysWhichFunctionItLacks) {
  const LateLibrary library("libc.so.6");
  EXPECT_THAT([&] { (void)library.function<void (*)()>("no_such_function"); },
              ThrowsMessage<std::runtime_error>(AllOf(HasSubstr("libc.so.6"), HasSubstr("no_such_function"))));
}

// Every function of the lists is looked up when the library is first asked for, and each is the library's own: the
// headers that this was compiled with and what was loaded are of one version.
TEST(LateLibrary, GivesTheLibrariesOfTheHeaders) {
  EXPECT_EQ(curl().version_info(CURLVERSION_NOW)->version_num >> 16U, LIBCURL_VERSION_NUM >> 16U);
  EXPECT_EQ(&curl(), &curl());
  EXPECT_STREQ(cairo().version_string(), CAIRO_VERSION_STRING);
}

}  // namespace
}  // namespace brimwatch
