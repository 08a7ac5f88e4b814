#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <fstream>

#include "pack.h"
#include "tape/frames.h"
#include "tape/recorder.h"
#include "tape/shelf.h"
#include "tape/writer.h"
#include "temporary.h"
#include "ticks.h"

namespace brimwatch {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

const Timestamp kStart = *parse_rfc3339("2026-11-25T10:00:00-05:00");

TEST(TapeWriter, WhatItWritesReadsBackTheSame) {
  const TemporaryDirectory directory;
  SymbolTable symbols;
  for (const char* name : {"KLVN", "ORRI", "TAMBU", "BRK B", "A,B", "LONGER.SYMBOL"}) symbols.intern(name);
  std::mt19937_64 random(11);
  std::vector<Tick> ticks;
  for (int i = 0; i < 20'000; ++i) ticks.push_back(random_tick(random, static_cast<SymbolId>(symbols.size())));
  for (const auto packing : {PackedFile::Packing::none, PackedFile::Packing::zstd}) {
    const std::string path = directory / (packing == PackedFile::Packing::none ? "t.csv" : "t.csv.zst");
    auto writer = TapeWriter::create(path, packing);
    ASSERT_TRUE(writer) << writer.error().text;
    for (const Tick& tick : ticks) ASSERT_TRUE((*writer)->write(tick, symbols.name(tick.symbol)));
    ASSERT_TRUE((*writer)->close());
    WholeTape got;
    read_whole(got, path);
    EXPECT_THAT(got.error, IsEmpty());
    EXPECT_FALSE(got.stats.torn);
    ASSERT_EQ(got.ticks.size(), ticks.size()) << ::testing::PrintToString(got.stats.told);
    for (std::size_t i = 0; i < ticks.size(); ++i) {
      EXPECT_EQ(got.symbols.name(got.ticks[i].symbol), symbols.name(ticks[i].symbol));
      got.ticks[i].symbol = ticks[i].symbol;
      ASSERT_TRUE(same(got.ticks[i], ticks[i])) << shown(got.ticks[i]) << "\n" << shown(ticks[i]);
    }
  }
  EXPECT_THAT(TapeWriter::create(directory / "t.csv").error().text, HasSubstr("cannot be made: File exists"));
}

struct Frames {
  std::vector<std::string> seen;
  std::string error;
  bool torn = false;
};

Frames read_frames(OpenedBytes bytes) {
  Frames out;
  auto reader = FrameReader::open(std::move(bytes));
  if (!reader) return out.error = reader.error().text, out;
  for (;;) {
    const auto frame = (*reader)->next();
    if (!frame) out.error = frame.error().text;
    if (!frame || !*frame) break;
    const Frame& one = **frame;
    if (one.kind == Frame::Kind::connection)
      out.seen.push_back(std::string(one.feed) + (one.up ? " up: " : " down: ") + std::string(one.bytes));
    else if (one.kind == Frame::Kind::gap) out.seen.push_back("gap of " + std::to_string(one.dropped));
    else out.seen.push_back(std::string(one.feed) + "@" + to_rfc3339(one.received) + " " + std::string(one.bytes));
  }
  out.torn = (*reader)->torn();
  return out;
}

Frames read_frames(const std::string& path) { return read_frames(std::move(*open_bytes(path))); }

OpenedBytes frame_bytes(std::string text) {
  OpenedBytes out;
  out.bytes = memory_bytes(std::move(text));
  out.name = "f";
  out.kind = RecordingKind::frames;
  return out;
}

/// The text of a file of two frames, a gap and a connection, unpacked.
std::string sample_frames(const TemporaryDirectory& directory) {
  auto writer = FrameWriter::create(directory / "f.zst");
  EXPECT_TRUE((*writer)->write({Frame::Kind::bytes, kStart, "main", "{\"p\":48.35}", {}, 0, false}));
  EXPECT_TRUE((*writer)->write({Frame::Kind::gap, kStart + kSecond, "", "", kStart, 7, false}));
  EXPECT_TRUE((*writer)->write({Frame::Kind::connection, kStart + kSecond, "main", "it hung up", {}, 0, false}));
  EXPECT_TRUE(
      (*writer)->write({Frame::Kind::bytes, kStart + kSecond, "spare", std::string("\0\n\xFF", 3), {}, 0, false}));
  EXPECT_TRUE((*writer)->close());
  auto bytes = open_bytes(directory / "f.zst");
  EXPECT_EQ(bytes->kind, RecordingKind::frames);
  std::string text(1 << 16, '\0');
  std::size_t used = 0;
  for (std::size_t got; (got = *bytes->bytes->read(std::span<char>(text).subspan(used))) > 0;) used += got;
  return text.substr(0, used);
}

TEST(FrameFile, BytesTimesAndGapsComeBack) {
  const TemporaryDirectory directory;
  (void)sample_frames(directory);
  const Frames got = read_frames(directory / "f.zst");
  EXPECT_THAT(got.error, IsEmpty());
  EXPECT_FALSE(got.torn);
  EXPECT_THAT(got.seen, ElementsAre("main@2026-11-25T15:00:00Z {\"p\":48.35}", "gap of 7", "main down: it hung up",
                                    "spare@2026-11-25T15:00:01Z " + std::string("\0\n\xFF", 3)));
}

TEST(FrameFile, CutOffAnywhereItIsTorn) {
  const TemporaryDirectory directory;
  const std::string text = sample_frames(directory);
  const Frames whole = read_frames(frame_bytes(text));
  std::size_t boundaries = 0;
  for (std::size_t n = kFrameFileMagic.size() + 4; n < text.size(); ++n) {
    const Frames got = read_frames(frame_bytes(text.substr(0, n)));
    EXPECT_THAT(got.error, IsEmpty()) << n;
    EXPECT_TRUE(std::equal(got.seen.begin(), got.seen.end(), whole.seen.begin())) << n;
    boundaries += !got.torn;  // only between two records nothing is missing
  }
  EXPECT_EQ(boundaries, 4u);
}

TEST(FrameFile, EachFlippedBitIsFound) {
  const TemporaryDirectory directory;
  const std::string text = sample_frames(directory);
  const Frames whole = read_frames(frame_bytes(text));
  for (std::size_t bit = 8 * (kFrameFileMagic.size() + 4); bit < 8 * text.size(); ++bit) {
    std::string bad = text;
    bad[bit / 8] = static_cast<char>(bad[bit / 8] ^ (1 << bit % 8));
    const Frames got = read_frames(frame_bytes(bad));
    EXPECT_TRUE(!got.error.empty() || got.torn) << bit;
    EXPECT_TRUE(std::equal(got.seen.begin(), got.seen.end(), whole.seen.begin())) << bit;
  }
}

TEST(FrameFile, AnotherVersionIsRefused) {
  const TemporaryDirectory directory;
  std::string text = sample_frames(directory);
  text[kFrameFileMagic.size()] = 3;
  EXPECT_THAT(read_frames(frame_bytes(text)).error,
              HasSubstr("found version 3 of the file of frames, expected version 1 or 2"));
  text[kFrameFileMagic.size()] = 1;
  EXPECT_THAT(read_frames(frame_bytes(text)).error, IsEmpty()) << "older recordings are read";
}

RecorderOptions options_for(const TemporaryDirectory& directory) {
  RecorderOptions options;
  options.directory = directory / "recordings";
  options.flush_every = std::chrono::hours(1);  // tests flush by hand
  options.day_of = [](Timestamp time) { return Date{static_cast<std::int32_t>((time.ns - 5 * kHour) / kDayNanos)}; };
  return options;
}

std::vector<std::string> names_in(const std::string& directory) {
  std::vector<std::string> names;
  for (const Recording& recording : Shelf::open(directory, 0)->recordings()) {
    names.push_back(std::filesystem::path(recording.path).filename().string());
  }
  return names;
}

TEST(Recorder, RotatesByTradeDayAndStartsAPartOfItsOwn) {
  const TemporaryDirectory directory;
  SymbolTable symbols;
  const SymbolId symbol = symbols.intern("KLVN");
  for (int run = 0; run < 2; ++run) {
    auto recorder = Recorder::open(options_for(directory));
    ASSERT_TRUE(recorder) << recorder.error().text;
    // 23:00 in New York is the next day in UTC, and still this trade day.
    const Tick ticks[] = {trade(0, symbol, kStart), trade(1, symbol, kStart + 13 * kHour),
                          trade(2, symbol, kStart + 24 * kHour), trade(3, symbol, kStart)};
    (*recorder)->ticks(ticks, symbols);
    (*recorder)->frame("main", kStart, "one");
    (*recorder)->flush();
    EXPECT_EQ((*recorder)->counters().ticks, 4u);
    EXPECT_EQ((*recorder)->counters().files, 3u);
  }
  const std::string where = directory / "recordings";
  EXPECT_THAT(names_in(where),
              ElementsAre("tape-2026-11-25.001.csv.zst", "tape-2026-11-25.002.csv.zst", "frames-2026-11-25.001.zst",
                          "frames-2026-11-25.002.zst", "tape-2026-11-26.001.csv.zst", "tape-2026-11-26.002.csv.zst"));
  WholeTape got;
  read_whole(got, where + "/tape-2026-11-26.001.csv.zst");
  ASSERT_EQ(got.ticks.size(), 2u);  // the late one goes where the file is
  EXPECT_EQ(got.ticks[1].id, 4u);
  EXPECT_THAT(read_frames(where + "/frames-2026-11-25.002.zst").seen, ElementsAre("main@2026-11-25T15:00:00Z one"));
}

TEST(Recorder, KeepsWhenAFeedCameAndWentInItsPlaceAmongTheFrames) {
  const TemporaryDirectory directory;
  auto recorder = Recorder::open(options_for(directory));
  (*recorder)->connection("main", kStart, true, "connected");
  (*recorder)->frame("main", kStart, "one");
  (*recorder)->connection("main", kStart + kSecond, false, "the connection broke");
  (*recorder)->flush();
  EXPECT_EQ((*recorder)->counters().frames, 1u) << "that a connection came or went is no frame";
  const std::string file = directory / "recordings/frames-2026-11-25.001.zst";
  EXPECT_EQ((*recorder)->counters().bytes, std::filesystem::file_size(file));
  EXPECT_THAT(read_frames(file).seen,
              ElementsAre("main up: connected", "main@2026-11-25T15:00:00Z one", "main down: the connection broke"));
}

TEST(Recorder, AFullQueueDropsAndTheRecordingSaysSo) {
  const TemporaryDirectory directory;
  RecorderOptions options = options_for(directory);
  options.ticks_most = 4;
  options.frame_bytes_most = 700;
  SymbolTable symbols;
  const SymbolId symbol = symbols.intern("KLVN");
  std::vector<Tick> ticks;
  for (std::uint64_t i = 0; i < 100; ++i) ticks.push_back(trade(i, symbol, kStart));
  auto recorder = Recorder::open(options);
  (*recorder)->ticks(ticks, symbols);  // one call holds the queue: four fit
  for (int i = 0; i < 100; ++i) (*recorder)->frame("main", kStart + i * kSecond, std::string(200, 'x'));
  (*recorder)->flush();
  (*recorder)->ticks({ticks.data(), 1}, symbols);
  (*recorder)->flush();
  const RecorderCounters counters = (*recorder)->counters();
  EXPECT_EQ(counters.ticks, 5u);
  EXPECT_EQ(counters.dropped_ticks, 96u);
  EXPECT_EQ(counters.frames + counters.dropped_frames, 100u);
  EXPECT_GT(counters.dropped_frames, 0u);
  recorder->reset();
  WholeTape got;
  read_whole(got, directory / "recordings/tape-2026-11-25.001.csv.zst");
  ASSERT_EQ(got.ticks.size(), 6u);
  EXPECT_EQ(got.ticks[4].kind, TickKind::hole);
  EXPECT_EQ(got.ticks[4].time, ticks[4].received);
  EXPECT_EQ(got.ticks[4].received, ticks[99].received);
  const Frames frames = read_frames(directory / "recordings/frames-2026-11-25.001.zst");
  std::uint64_t dropped = 0;
  for (const std::string& line : frames.seen) {
    if (line.starts_with("gap of ")) dropped += std::stoull(line.substr(7));
  }
  EXPECT_EQ(dropped, counters.dropped_frames);
}

TEST(Recorder, TheOldestDaysGoFirstAndOtherFilesStay) {
  const TemporaryDirectory directory;
  RecorderOptions options = options_for(directory);
  options.bytes_most = 40'000;
  options.tape = false;
  std::filesystem::create_directories(options.directory);
  std::ofstream(options.directory + "/mine.txt") << std::string(100'000, 'x');
  std::mt19937_64 random(3);
  auto recorder = Recorder::open(options);
  for (int day = 0; day < 20; ++day) {
    std::string noise(6'000, '\0');  // does not pack
    for (char& c : noise) c = static_cast<char>(random());
    (*recorder)->frame("main", kStart + day * kDayNanos, noise);
    (*recorder)->flush();
  }
  const auto names = names_in(options.directory);
  EXPECT_EQ(names.size(), 6u);
  EXPECT_EQ(names.back(), "frames-2026-12-14.001.zst");
  EXPECT_EQ((*recorder)->counters().removed_files, 14u);
  EXPECT_TRUE(std::filesystem::exists(options.directory + "/mine.txt"));
}

TEST(Recorder, ADirectoryThatGoesAwayIsToldAndTriedAgainLater) {
  const TemporaryDirectory directory;
  auto recorder = Recorder::open(options_for(directory));
  std::filesystem::remove_all(directory / "recordings");
  (*recorder)->frame("main", kStart, "lost");
  (*recorder)->flush();
  EXPECT_EQ((*recorder)->counters().dropped_frames, 1u);
  EXPECT_EQ((*recorder)->counters().errors, 1u);
  EXPECT_THAT((*recorder)->counters().last_error, HasSubstr("cannot be made"));
  std::filesystem::create_directories(directory / "recordings");
  for (int i = 0; i < 31; ++i) (*recorder)->flush();
  (*recorder)->frame("main", kStart + kSecond, "kept");
  (*recorder)->flush();
  EXPECT_THAT(read_frames(directory / "recordings/frames-2026-11-25.001.zst").seen,
              ElementsAre("gap of 1", "main@2026-11-25T15:00:01Z kept"));
}

/// Records until it is killed; writes a byte to `pipe` each time something is safely flushed.
[[noreturn]] void record_for_ever(const RecorderOptions& options, int pipe) {
  SymbolTable symbols;
  const SymbolId symbol = symbols.intern("KLVN");
  auto recorder = Recorder::open(options);
  for (std::uint64_t i = 0;; ++i) {
    const Tick tick = trade(i, symbol, kStart);
    (*recorder)->ticks({&tick, 1}, symbols);
    (*recorder)->frame("main", tick.received, "frame " + std::to_string(i));
    if (i % 500 != 499) continue;
    (*recorder)->flush();
    if (::write(pipe, "x", 1) != 1) ::_exit(1);
  }
}

TEST(Recorder, AfterAKillAllThatWasFlushedCanBeRead) {
  for (std::uint64_t rounds = 1; rounds <= 8; ++rounds) {
    const TemporaryDirectory directory;
    int ends[2];
    ASSERT_EQ(::pipe(ends), 0);
    const pid_t child = ::fork();
    if (child == 0) record_for_ever(options_for(directory), ends[1]);
    ::close(ends[1]);
    char byte = 0;
    for (std::uint64_t i = 0; i < rounds; ++i) ASSERT_EQ(::read(ends[0], &byte, 1), 1);
    ::kill(child, SIGKILL);
    int status = 0;
    ::waitpid(child, &status, 0);
    ::close(ends[0]);
    EXPECT_TRUE(WIFSIGNALED(status));
    WholeTape got;
    read_whole(got, directory / "recordings/tape-2026-11-25.001.csv.zst");
    EXPECT_THAT(got.error, IsEmpty());
    EXPECT_TRUE(got.stats.torn);
    EXPECT_EQ(got.stats.malformed, 0u);
    EXPECT_GE(got.ticks.size(), 500 * rounds);
    for (std::uint64_t i = 0; i < got.ticks.size(); ++i) ASSERT_TRUE(same(got.ticks[i], trade(i, 0, kStart))) << i;
    const Frames frames = read_frames(directory / "recordings/frames-2026-11-25.001.zst");
    EXPECT_THAT(frames.error, IsEmpty());
    EXPECT_TRUE(frames.torn);
    EXPECT_GE(frames.seen.size(), 500 * rounds);
    EXPECT_THAT(frames.seen[499], HasSubstr(" frame 499"));
  }
}

}  // namespace
}  // namespace brimwatch
