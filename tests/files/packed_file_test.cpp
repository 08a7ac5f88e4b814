#include "files/packed_file.h"

#include <gmock/gmock.h>
#include <unistd.h>
#include <zlib.h>
#include <zstd.h>

#include <filesystem>
#include <fstream>

#include "files/daily_file.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;

class Packed : public testing::Test {
 protected:
  void SetUp() override {
    folder_ = std::filesystem::path(testing::TempDir()) / ("packed_" + std::to_string(::getpid()));
    std::filesystem::create_directories(folder_);
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }

  std::string path(const std::string& name) { return (folder_ / name).string(); }
  void gzip(const std::string& name, const std::string& text) {
    gzFile file = gzopen(path(name).c_str(), "wb");
    gzwrite(file, text.data(), static_cast<unsigned>(text.size()));
    gzclose(file);
  }
  void zstd(const std::string& name, const std::string& text) {
    std::string packed(ZSTD_compressBound(text.size()), '\0');
    packed.resize(ZSTD_compress(packed.data(), packed.size(), text.data(), text.size(), 3));
    write(name, packed);
  }
  std::string bytes(const std::string& name) { return *read_file(path(name)); }
  void write(const std::string& name, const std::string& text) { std::ofstream(path(name), std::ios::binary) << text; }

  std::filesystem::path folder_;
};

constexpr const char* kTable = "date,volume\n2026-11-24,100\n";

TEST_F(Packed, GzipIsUnpackedAlsoInSeveralMembers) {
  gzip("KLVN.csv.gz", kTable);
  const auto one = read_packed(path("KLVN.csv.gz"));
  ASSERT_TRUE(one) << one.error().text;
  EXPECT_EQ(one->at(0).name, "KLVN.csv");
  EXPECT_EQ(one->at(0).text, kTable);
  write("two.csv.gz", bytes("KLVN.csv.gz") + bytes("KLVN.csv.gz"));
  EXPECT_EQ(read_packed(path("two.csv.gz"))->at(0).text, std::string(kTable) + kTable);
}

TEST_F(Packed, OneThatEndsTooEarlyIsDamagedOrTooLargeIsRefused) {
  std::string text;
  for (int i = 0; text.size() < 100'000; ++i) text += std::to_string(i * 7919 % 100'003) + "\n";
  gzip("a.csv.gz", text);
  const std::string whole = bytes("a.csv.gz");
  write("short.csv.gz", whole.substr(0, whole.size() / 2));
  EXPECT_THAT(read_packed(path("short.csv.gz")).error().text, HasSubstr("ends too early"));
  std::string bad = whole;
  bad[bad.size() / 2] = static_cast<char>(bad[bad.size() / 2] ^ 0x55);
  write("bad.csv.gz", bad);
  EXPECT_THAT(read_packed(path("bad.csv.gz")).error().text, HasSubstr("is damaged"));
  EXPECT_THAT(read_packed(path("a.csv.gz"), 50'000).error().text, HasSubstr("found more than 50000 bytes when unpacked"));
  write("zip.zip", "PK\x03\x04 and no more");
  EXPECT_THAT(read_packed(path("zip.zip")).error().text, HasSubstr("zip"));
}

TEST_F(Packed, ZstdIsUnpackedAlsoInSeveralFrames) {
  zstd("KLVN.csv.zst", kTable);
  const auto one = read_packed(path("KLVN.csv.zst"));
  ASSERT_TRUE(one) << one.error().text;
  EXPECT_EQ(one->at(0).name, "KLVN.csv");
  EXPECT_EQ(one->at(0).text, kTable);
  write("two.csv.zst", bytes("KLVN.csv.zst") + bytes("KLVN.csv.zst"));
  EXPECT_EQ(read_packed(path("two.csv.zst"))->at(0).text, std::string(kTable) + kTable);
  const std::string exactly(1U << 18, '7');  // one piece of unpacking
  zstd("piece.csv.zst", exactly);
  EXPECT_EQ(read_packed(path("piece.csv.zst"))->at(0).text, exactly);
}

TEST_F(Packed, OneOfZstdThatEndsTooEarlyIsDamagedOrTooLargeIsRefused) {
  std::string text;
  for (int i = 0; text.size() < 600'000; ++i) text += std::to_string(i * 7919 % 100'003) + "\n";
  zstd("a.csv.zst", text);
  EXPECT_EQ(read_packed(path("a.csv.zst"))->at(0).text, text);
  const std::string whole = bytes("a.csv.zst");
  write("short.csv.zst", whole.substr(0, whole.size() / 2));
  EXPECT_THAT(read_packed(path("short.csv.zst")).error().text, HasSubstr("ends too early"));
  std::string bad = whole;
  for (std::size_t i = 6; i < 40; ++i) bad[i] = static_cast<char>(bad[i] ^ 0x55);
  write("bad.csv.zst", bad);
  EXPECT_THAT(read_packed(path("bad.csv.zst")).error().text, HasSubstr("is damaged"));
  EXPECT_THAT(read_packed(path("a.csv.zst"), 300'000).error().text,
              HasSubstr("found more than 300000 bytes when unpacked"));
}

TEST_F(Packed, TheStoreFindsASymbolsFileWhateverItIsPackedIn) {
  gzip("KLVN.csv.gz", kTable);
  write("NIVO.csv", kTable);
  DailyStore store(folder_.string());
  EXPECT_EQ(store.file_of("KLVN"), path("KLVN.csv.gz"));
  EXPECT_EQ(store.read("KLVN", DailyRows::every)->bars.size(), 1U);
  EXPECT_EQ(store.file_of("ORRJ"), "");
  EXPECT_EQ(store.file_of("../NIVO"), "");
  EXPECT_EQ(store.file_to_write("ORRJ"), path("ORRJ.csv"));
  write("KLVN.csv", kTable);
  EXPECT_EQ(store.file_of("KLVN"), path("KLVN.csv")) << "the plain one first";
  zstd("TMB.B.csv.zst", kTable);
  EXPECT_EQ(store.file_of("TMB.B"), path("TMB.B.csv.zst"));
  EXPECT_EQ(store.read("TMB.B", DailyRows::every)->bars.size(), 1U);
  EXPECT_EQ(symbol_of_file(path("TMB.B.csv.zst")), "TMB.B");
  EXPECT_EQ(daily_files(folder_.string())->size(), 3U);
}

TEST_F(Packed, CapitalsInAnEndingAndSmallLettersInASymbolAreFound) {
  write("KLVN.CSV", kTable);
  write("nivo.csv", kTable);
  gzip("ORRJ.CSV.GZ", kTable);
  DailyStore store(folder_.string());
  EXPECT_EQ(store.file_of("KLVN"), path("KLVN.CSV"));
  EXPECT_EQ(store.file_of("NIVO"), path("nivo.csv"));
  EXPECT_EQ(store.read("ORRJ", DailyRows::every)->bars.size(), 1U);
  EXPECT_EQ(symbol_of_file(path("KLVN.CSV")), "KLVN");
  EXPECT_EQ(daily_files(folder_.string())->size(), 3U);
  EXPECT_EQ(passed_over(folder_.string()), "");
  write("NIVO.csv", kTable);
  EXPECT_EQ(store.file_of("NIVO"), path("NIVO.csv")) << "its own first";
}

TEST_F(Packed, WhatIsPassedOverIsSaidInOneLineWithCounts) {
  for (const char* name : {"KLVN.txt", "NIVO.txt", "ORRJ.xlsx", "README", ".hidden.txt", "KLVN.csv.old", "TMBU.csv"})
    write(name, kTable);
  EXPECT_EQ(passed_over(folder_.string()),
            folder_.string() +
                ": passed over 4 files (2 .txt, 1 .xlsx, 1 without an ending): daily bars are SYMBOL.csv, .csv.gz, "
                ".csv.zst or .zip");
  EXPECT_EQ(passed_over(path("TMBU.csv")), "") << "a file is no folder";
  EXPECT_THAT(DailyStore(folder_.string()).read("KLVN", DailyRows::every).error().text,
              HasSubstr("KLVN.csv: found no such file, and KLVN.txt is not read: daily bars are .csv, "));
}

TEST_F(Packed, OneFileForAllSymbolsIsOnlyRead) {
  write("all.csv", "symbol,date,volume\nKLVN,2026-11-24,1\nNIVO,2026-11-24,2\n");
  DailyStore store(path("all.csv"));
  EXPECT_EQ(store.read("NIVO", DailyRows::every)->bars.at(0).volume, 2);
  EXPECT_THAT(store.read("ORRJ", DailyRows::every).error().text, HasSubstr("holds no rows of ORRJ"));
  EXPECT_EQ(store.file_to_write("KLVN"), "");
}

}  // namespace
}  // namespace brimwatch
