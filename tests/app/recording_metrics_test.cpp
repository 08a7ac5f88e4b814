// Each figure of the recorder in the metrics counts what its help says: so much is handed over, to a disk that takes all,
// some or nothing, and what can be read back afterwards is counted by hand.
#include <gtest/gtest.h>
#include <sys/resource.h>

#include <csignal>
#include <filesystem>
#include <random>
#include <sstream>

#include "app/recording_row.h"
#include "status/metrics.h"
#include "tape/frames.h"
#include "tape/reader.h"
#include "tape/recorder.h"
#include "tests/tape/temporary.h"
#include "tests/tape/ticks.h"

namespace brimwatch {
namespace {

const Timestamp kTen = *parse_rfc3339("2026-11-25T10:00:00-05:00");

/// As long as it lives, no file of this program grows beyond so many bytes: as a disk that is full.
class FileLimit {
 public:
  explicit FileLimit(rlim_t most) : before_(std::signal(SIGXFSZ, SIG_IGN)) {
    ::getrlimit(RLIMIT_FSIZE, &old_);
    const rlimit now{most, old_.rlim_max};
    ::setrlimit(RLIMIT_FSIZE, &now);
  }
  ~FileLimit() {
    ::setrlimit(RLIMIT_FSIZE, &old_);
    std::signal(SIGXFSZ, before_);
  }
  FileLimit(const FileLimit&) = delete;
  FileLimit& operator=(const FileLimit&) = delete;

 private:
  rlimit old_{};
  void (*before_)(int);
};

struct MetricsOfRecorder : testing::Test {
  void open(std::size_t ticks_most = 10'000, std::size_t frame_bytes_most = 1 << 20) {
    RecorderOptions options;
    options.directory = directory / "rec";
    options.flush_every = std::chrono::hours(1);  // by hand
    options.ticks_most = ticks_most, options.frame_bytes_most = frame_bytes_most;
    auto made = Recorder::open(options);
    ASSERT_TRUE(made) << made.error().text;
    recorder = std::move(*made);
  }
  void ticks(std::size_t count) {
    std::vector<Tick> some(count);
    for (Tick& tick : some) {
      tick.symbol = symbol, tick.id = ++last_id;
      tick.time = tick.received = kTen + static_cast<Nanos>(last_id);
      tick.price = Price{48'000'000 + static_cast<std::int64_t>(random() % 1'000'000)};
      tick.size = Shares::whole(100);
    }
    recorder->ticks(some, symbols);
  }
  void frames(std::size_t count, std::size_t bytes = 100) {
    for (std::size_t i = 0; i < count; ++i) {
      std::string noise(bytes, '\0');  // does not pack
      for (char& c : noise) c = static_cast<char>(random());
      recorder->frame("main", kTen, noise);
    }
  }
  double value(const std::string& sample) {
    Snapshot now;
    now.recording = recording_row(recorder->counters());
    std::istringstream lines(metrics_text(now));
    for (std::string line; std::getline(lines, line);)
      if (line.starts_with("brimwatch_" + sample + " ")) return std::stod(line.substr(line.rfind(' ')));
    return -1;
  }
  double kept(const char* what) { return value(std::string("recorded_total{what=\"") + what + "\"}"); }
  double dropped(const char* what) { return value(std::string("recording_dropped_total{what=\"") + what + "\"}"); }

  struct Found {
    std::size_t ticks = 0, frames = 0;
    std::uintmax_t bytes = 0;
  };
  /// What lies in the directory, read back.
  [[nodiscard]] Found found() const {
    Found all;
    for (const auto& entry : std::filesystem::directory_iterator(directory / "rec")) {
      all.bytes += entry.file_size();
      const std::string path = entry.path().string();
      if (path.find("/tape-") == std::string::npos) {
        auto reader = FrameReader::open(path);
        for (auto one = (*reader)->next(); one && *one; one = (*reader)->next())
          all.frames += (*one)->kind == Frame::Kind::bytes ? 1U : 0U;
      } else {
        WholeTape tape;
        read_whole(tape, path);
        for (const Tick& tick : tape.ticks) all.ticks += tick.kind == TickKind::hole ? 0U : 1U;
      }
    }
    return all;
  }

  const TemporaryDirectory directory;
  SymbolTable symbols;
  SymbolId symbol = symbols.intern("KLVN");
  std::uint64_t last_id = 0;
  std::mt19937_64 random{7};
  std::unique_ptr<Recorder> recorder;
};

TEST_F(MetricsOfRecorder, KeptIsWhatCanBeReadBack) {
  open();
  ticks(40);
  frames(30);
  recorder->connection("main", kTen, true, "connected");
  EXPECT_EQ(kept("ticks"), 0) << "not on the disk yet";
  recorder->flush();
  EXPECT_EQ(kept("ticks"), 40);
  EXPECT_EQ(kept("frames"), 30) << "that a connection came is no frame";
  EXPECT_EQ(dropped("ticks"), 0);
  EXPECT_EQ(dropped("frames"), 0);
  EXPECT_EQ(value("recording_errors_total"), 0);
  const Found there = found();
  EXPECT_EQ(there.ticks, 40U);
  EXPECT_EQ(there.frames, 30U);
  EXPECT_EQ(value("recordings_bytes"), static_cast<double>(there.bytes));
}

TEST_F(MetricsOfRecorder, DroppedIsWhatAFullQueueDidNotTake) {
  open(25, 5'000);
  ticks(40);
  frames(200);
  recorder->flush();
  EXPECT_EQ(kept("ticks") + dropped("ticks"), 40);
  EXPECT_GE(dropped("ticks"), 15);
  EXPECT_EQ(kept("frames") + dropped("frames"), 200);
  EXPECT_GT(dropped("frames"), 0);
  EXPECT_EQ(value("recording_errors_total"), 0) << "the disk is well";
  EXPECT_EQ(kept("ticks"), static_cast<double>(found().ticks));
  EXPECT_EQ(kept("frames"), static_cast<double>(found().frames));
}

TEST_F(MetricsOfRecorder, WhatADiskRefusesAtTheFlushIsDroppedAndNotKept) {
  open();
  ticks(20);
  frames(20);
  recorder->flush();
  {
    const FileLimit full(4'000);
    ticks(500);
    frames(50);
    recorder->connection("main", kTen, false, "it hung up");
    recorder->flush();
  }
  EXPECT_EQ(kept("ticks"), 20);
  EXPECT_EQ(dropped("ticks"), 500);
  EXPECT_EQ(kept("frames"), 20);
  EXPECT_EQ(dropped("frames"), 50);
  EXPECT_EQ(value("recording_errors_total"), 2) << "the tape, and the frames";
  for (int i = 0; i < 31; ++i) recorder->flush();  // then it is tried again
  ticks(5);
  frames(6);
  recorder->flush();
  EXPECT_EQ(kept("ticks"), 25);
  EXPECT_EQ(kept("frames"), 26);
  EXPECT_EQ(dropped("ticks"), 500);
  EXPECT_GE(static_cast<double>(found().ticks), kept("ticks")) << "some that was not safe may have arrived all the same";
  EXPECT_GE(static_cast<double>(found().frames), kept("frames"));
  EXPECT_EQ(value("recordings_bytes"), static_cast<double>(found().bytes));
}

}  // namespace
}  // namespace brimwatch
