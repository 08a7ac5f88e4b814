#include "tape/bytes.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <fstream>

#include "pack.h"
#include "tape/blocks.h"
#include "tape/filled_ahead.h"

namespace brimwatch {
namespace {

using ::testing::HasSubstr;

struct Got {
  std::string text, error;
  bool torn = false;
};

Got drain(ByteSource& source, std::size_t step) {
  Got got;
  std::string room(step, '\0');
  for (;;) {
    const auto count = source.read(room);
    if (!count) got.error = count.error().text;
    if (!count || *count == 0) break;
    got.text.append(room, 0, *count);
  }
  got.torn = source.torn();
  return got;
}

std::string sample() {
  std::string text;
  for (int i = 0; i < 20'000; ++i) text += "row " + std::to_string(i * 7919 % 10'007) + "\n";
  return text;
}

using Unpack = std::unique_ptr<ByteSource> (*)(std::unique_ptr<ByteSource>, std::string);

struct Format {
  std::string (*pack)(std::string_view);
  Unpack unpack;
  const char* name;
};
void PrintTo(const Format& format, std::ostream* out) { *out << format.name; }

class Packed : public ::testing::TestWithParam<Format> {};

TEST_P(Packed, ComesBackWholeInStepsOfAnySize) {
  const std::string text = sample();
  for (const std::size_t step : {1u, 7u, 4096u, 1'000'000u}) {
    const auto source = GetParam().unpack(memory_bytes(GetParam().pack(text)), "t");
    const Got got = drain(*source, step);
    EXPECT_TRUE(got.text == text) << step;
    EXPECT_FALSE(got.torn);
    EXPECT_EQ(got.error, "");
  }
}

TEST_P(Packed, SeveralPartsBehindEachOtherAreOneText) {
  const auto source =
      GetParam().unpack(memory_bytes(GetParam().pack("one\n") + GetParam().pack("") + GetParam().pack("two\n")), "t");
  EXPECT_EQ(drain(*source, 3).text, "one\ntwo\n");
}

TEST_P(Packed, CutOffAnywhereItIsTornAndWhatWasThereIsAPrefix) {
  const std::string text = sample().substr(0, 3000);
  const std::string packed = GetParam().pack(text);
  for (std::size_t n = 1; n < packed.size(); ++n) {
    const auto source = GetParam().unpack(memory_bytes(packed.substr(0, n)), "t");
    const Got got = drain(*source, 512);
    EXPECT_EQ(got.error, "") << n;
    EXPECT_TRUE(got.torn) << n;
    EXPECT_EQ(got.text, text.substr(0, got.text.size())) << n;
  }
}

TEST_P(Packed, DamageIsAnErrorNotATornTail) {
  const std::string packed = GetParam().pack(sample());
  std::string bad = packed + "garbage behind it";
  EXPECT_THAT(drain(*GetParam().unpack(memory_bytes(bad), "t.csv"), 4096).error, HasSubstr("t.csv: the"));
  bad = packed;
  for (std::size_t i = bad.size() / 2; i < bad.size() / 2 + 40; ++i) bad[i] = static_cast<char>(~bad[i]);
  const Got got = drain(*GetParam().unpack(memory_bytes(bad), "t.csv"), 4096);
  EXPECT_TRUE(!got.error.empty() || got.text != sample());
}

INSTANTIATE_TEST_SUITE_P(Formats, Packed,
                         ::testing::Values(Format{pack_zstd, unzstd, "zstd"}, Format{pack_gzip, gunzip, "gzip"}),
                         [](const auto& about) { return about.param.name; });

class Files : public ::testing::Test {
 protected:
  std::string write(std::string_view bytes) {
    const std::string path = ::testing::TempDir() + "bytes_" + std::to_string(::getpid());
    std::ofstream(path, std::ios::binary).write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    return path;
  }
};

TEST_F(Files, TheFormatIsToldByContentNotByName) {
  for (const std::string& bytes :
       {std::string("time,symbol\n"), pack_zstd("time,symbol\n"), pack_gzip("time,symbol\n")}) {
    auto opened = open_bytes(write(bytes));
    ASSERT_TRUE(opened) << opened.error().text;
    EXPECT_EQ(drain(*opened->bytes, 100).text, "time,symbol\n");
    EXPECT_EQ(opened->kind, RecordingKind::ticks);
    EXPECT_TRUE(opened->regular_file);
  }
  auto opened = open_bytes(write(pack_zstd(std::string(kFrameFileMagic) + "rest")));
  EXPECT_EQ(opened->kind, RecordingKind::frames);
}

TEST_F(Files, WhatCannotBeOpenedSaysWhy) {
  EXPECT_THAT(open_bytes("/no/such/tape").error().text, HasSubstr("/no/such/tape: cannot be opened: No such file"));
  EXPECT_THAT(open_bytes("/").error().text, HasSubstr("is a directory, expected a tape"));
}

TEST(Blocks, ReadAheadGivesTheSameBytesAndMayBeLeftEarly) {
  const std::string text = sample() + sample() + sample() + sample() + sample() + sample() + sample() + sample();
  const auto blocks = blocks_ahead(unzstd(memory_bytes(pack_zstd(text)), "t"), std::make_shared<Helper>());
  std::string got;
  for (;;) {
    const auto block = blocks->next();
    ASSERT_TRUE(block);
    if (block->empty()) break;
    got.append(block->data(), block->size());
  }
  EXPECT_TRUE(got == text);
  EXPECT_TRUE(blocks->next()->empty());
  const auto left = blocks_ahead(unzstd(memory_bytes(pack_zstd(text)), "t"), std::make_shared<Helper>());
  EXPECT_FALSE(left->next()->empty());
}

TEST(Blocks, AnErrorOfTheSourceArrives) {
  const auto blocks =
      blocks_ahead(unzstd(memory_bytes("\x28\xB5\x2F\xFDgarbage garbage garbage"), "t"), std::make_shared<Helper>());
  Result<std::span<char>> last = blocks->next();
  for (int i = 0; i < 3 && last; ++i) last = blocks->next();
  ASSERT_FALSE(last);
  EXPECT_THAT(last.error().text, HasSubstr("damaged"));
}

}  // namespace
}  // namespace brimwatch
