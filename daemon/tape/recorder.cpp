#include "tape/recorder.h"

#include <algorithm>
#include <condition_variable>
#include <cstring>
#include <limits>
#include <mutex>
#include <thread>
#include <utility>
#include <vector>

#include "tape/frames.h"
#include "tape/shelf.h"
#include "tape/writer.h"

namespace brimwatch {
namespace recording {

constexpr int kPauseAfterError = 30;        ///< flushes after which a file is tried again
constexpr std::uint64_t kPartsAtLeast = 8;  ///< a part takes this much of the bound, so that old ones can go one by one

struct NamedTick {
  Tick tick;
  std::string_view symbol;  ///< lives as long as the symbol table
};

/// What was dropped, or is not safe yet, and when.
struct Loss {
  Timestamp from, to;
  std::uint64_t records = 0;
  std::uint64_t count = 0;  ///< of those the ticks, or frames: that a connection came or went is neither

  void add(const Loss& more) {
    if (more.records == 0) return;
    from = records == 0 ? more.from : std::min(from, more.from);
    to = records == 0 ? more.to : std::max(to, more.to);
    records += more.records;
    count += more.count;
  }
  void add(Timestamp at, bool counts) { add(Loss{at, at, 1, counts ? 1U : 0U}); }
};

Status write_loss(TapeWriter& file, const Loss& loss) {
  Tick hole;
  hole.kind = TickKind::hole;
  hole.time = loss.from;
  hole.received = loss.to;
  return file.write(hole, "");
}

Status write_loss(FrameWriter& file, const Loss& loss) {
  return file.write(Frame{Frame::Kind::gap, loss.to, "", "", loss.from, loss.count, false});
}

Timestamp arrival(const Tick& tick) { return tick.received.is_set() ? tick.received : tick.time; }

/// What waits to be written. The losses come behind what is in the queue: nothing is taken any more once it is full.
struct Queue {
  std::vector<NamedTick> ticks;
  Loss lost_ticks;
  std::string frames;  ///< bodies of records, each behind its length
  Loss lost_frames;
};

/// One kind of recording: the file of the day, and what to do when it fails.
template <typename Writer>
class Track {
 public:
  Track(RecordingKind kind, const Shelf& shelf, std::uint64_t part_most, RecorderCounters& counters, std::uint64_t& kept,
        std::uint64_t& dropped)
      : kind_(kind), shelf_(shelf), part_most_(part_most), counters_(counters), kept_(kept), dropped_(dropped) {}

  /// Hands the file of that day to `put`, having told before it what was lost. Where it fails, the entry is lost itself.
  template <typename Put>
  void write(Date day, Timestamp at, bool counts, const Put& put) {
    Status done = open_for(day);
    if (done) done = tell_loss();
    if (done) done = put(*writer_);
    if (done) return unsafe_.add(at, counts);
    give_up(done.error());
    lost(Loss{at, at, 1, counts ? 1U : 0U});
  }

  void lost(const Loss& loss) {
    loss_.add(loss);
    dropped_ += loss.count;
  }

  void flush() {
    if (paused_ > 0) --paused_;
    if (!writer_) return;
    Status done = tell_loss();
    if (done) done = writer_->flush();
    settle(done);
  }

  void close() {
    if (!writer_) return;
    Status done = tell_loss();
    if (done) done = writer_->close();
    settle(done);
    writer_.reset();
    path_.clear();
  }

  [[nodiscard]] const std::string& path() const { return path_; }

 private:
  /// A late arrival goes into the file that is open: days only go forward.
  Status open_for(Date day) {
    if (paused_ > 0) return fail(counters_.last_error);
    if (writer_ && day <= day_ && writer_->size() < part_most_) return {};
    close();
    if (paused_ > 0) return fail(counters_.last_error);
    auto path = shelf_.new_path(kind_, std::max(day, day_));
    if (!path) return tl::unexpected<Error>(path.error());
    auto made = Writer::create(*path);
    if (!made) return tl::unexpected<Error>(made.error());
    writer_ = std::move(*made);
    path_ = std::move(*path);
    day_ = std::max(day, day_);
    ++counters_.files;
    return {};
  }

  /// Kept is what the system has taken.
  void settle(const Status& done) {
    if (!done) return give_up(done.error());
    kept_ += std::exchange(unsafe_, Loss{}).count;
  }

  Status tell_loss() {
    if (loss_.records == 0) return {};
    const Status done = write_loss(*writer_, loss_);
    if (!done) return done;
    loss_ = Loss{};
    ++counters_.holes;
    return {};
  }

  void give_up(const Error& error) {
    if (paused_ > 0) return;
    ++counters_.errors;
    counters_.last_error = error.text;
    writer_.reset();
    path_.clear();
    paused_ = kPauseAfterError;
    lost(std::exchange(unsafe_, Loss{}));
  }

  RecordingKind kind_;
  const Shelf& shelf_;
  std::uint64_t part_most_;
  RecorderCounters& counters_;
  std::uint64_t &kept_, &dropped_;
  std::unique_ptr<Writer> writer_;
  std::string path_;
  Date day_{std::numeric_limits<std::int32_t>::min()};
  Loss loss_;       ///< not told yet
  Loss unsafe_;     ///< written, and not flushed
  int paused_ = 0;  ///< flushes until the next try
};

}  // namespace recording

using namespace recording;

struct Recorder::Impl {
  Impl(RecorderOptions given, Shelf where)
      : options(std::move(given)),
        shelf(std::move(where)),
        tape(RecordingKind::ticks, shelf, options.bytes_most / kPartsAtLeast, counters, counters.ticks,
             counters.dropped_ticks),
        frames(RecordingKind::frames, shelf, options.bytes_most / kPartsAtLeast, counters, counters.frames,
               counters.dropped_frames) {
    if (!options.day_of)
      options.day_of = [](Timestamp time) { return Date{static_cast<std::int32_t>(time.ns / kDayNanos)}; };
    queue.ticks.reserve(options.ticks_most);
    taken.ticks.reserve(options.ticks_most);
    thread = std::thread([this] { run(); });
  }

  void put_frame(const Frame& frame);
  void run();
  void take(std::unique_lock<std::mutex>& lock);
  void write_ticks();
  void write_frames();
  [[nodiscard]] bool worth_waking() const {
    return queue.ticks.size() > options.ticks_most / 4 || queue.frames.size() > options.frame_bytes_most / 4;
  }

  RecorderOptions options;
  Shelf shelf;

  mutable std::mutex mutex;
  std::condition_variable wake, done;
  Queue queue;  // guarded by mutex, as are the next four
  RecorderCounters shown;
  std::uint64_t wanted = 0, flushed = 0;
  bool stop = false;

  // Of the recorder's thread alone.
  Queue taken;
  RecorderCounters counters;
  Track<TapeWriter> tape;
  Track<FrameWriter> frames;
  std::thread thread;
};

void Recorder::Impl::run() {
  std::unique_lock lock(mutex);
  for (bool last = false; !last;) {
    wake.wait_for(lock, options.flush_every, [this] { return stop || wanted > flushed || worth_waking(); });
    last = stop;
    take(lock);
  }
  lock.unlock();
  tape.close();
  frames.close();
}

/// One round: swaps the queues, writes without the lock, shows the counters.
void Recorder::Impl::take(std::unique_lock<std::mutex>& lock) {
  std::swap(queue, taken);
  const std::uint64_t round = wanted;
  lock.unlock();
  write_ticks();
  write_frames();
  tape.flush();
  frames.flush();
  const Shelf::Room room = shelf.make_room({tape.path(), frames.path()});
  counters.removed_files += room.removed;
  counters.bytes = room.bytes;
  taken.ticks.clear();
  taken.frames.clear();
  taken.lost_ticks = taken.lost_frames = Loss{};
  lock.lock();
  shown = counters;
  flushed = round;
  done.notify_all();
}

void Recorder::Impl::write_ticks() {
  for (const NamedTick& entry : taken.ticks) {
    tape.write(options.day_of(entry.tick.time), arrival(entry.tick), true,
               [&](TapeWriter& file) { return file.write(entry.tick, entry.symbol); });
  }
  tape.lost(taken.lost_ticks);
}

void Recorder::Impl::write_frames() {
  for (std::string_view rest = taken.frames; !rest.empty();) {
    std::uint32_t length = 0;
    Timestamp received;
    std::memcpy(&length, rest.data(), sizeof length);
    std::memcpy(&received.ns, rest.data() + sizeof length, sizeof received.ns);
    const std::string_view body = rest.substr(sizeof length, length);
    rest.remove_prefix(sizeof length + length);
    frames.write(options.day_of(received), received, is_frame_body(body),
                 [&](FrameWriter& file) { return file.write_body(body); });
  }
  frames.lost(taken.lost_frames);
}

Recorder::Recorder(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}

Recorder::~Recorder() {
  {
    const std::lock_guard lock(impl_->mutex);
    impl_->stop = true;
  }
  impl_->wake.notify_one();
  impl_->thread.join();
}

Result<std::unique_ptr<Recorder>> Recorder::open(RecorderOptions options) {
  auto shelf = Shelf::open(options.directory, options.bytes_most);
  if (!shelf) return tl::unexpected<Error>(shelf.error());
  return std::unique_ptr<Recorder>(new Recorder(std::make_unique<Impl>(std::move(options), std::move(*shelf))));
}

void Recorder::ticks(std::span<const Tick> ticks, const SymbolTable& symbols) {
  if (!impl_->options.tape) return;
  bool wake = false;
  {
    const std::lock_guard lock(impl_->mutex);
    Queue& queue = impl_->queue;
    const bool low = !impl_->worth_waking();
    for (const Tick& tick : ticks) {
      if (queue.ticks.size() < impl_->options.ticks_most) {
        queue.ticks.push_back({tick, symbols.name(tick.symbol)});
      } else {
        queue.lost_ticks.add(arrival(tick), true);
      }
    }
    wake = low && impl_->worth_waking();
  }
  if (wake) impl_->wake.notify_one();  // once a quarter of the queue: a wake-up costs a system call
}

void Recorder::frame(std::string_view feed, Timestamp received, std::string_view bytes) {
  impl_->put_frame(Frame{Frame::Kind::bytes, received, feed, bytes, {}, 0, false});
}

void Recorder::connection(std::string_view feed, Timestamp at, bool up, std::string_view why) {
  impl_->put_frame(Frame{Frame::Kind::connection, at, feed, why.substr(0, 200), {}, 0, up});
}

void Recorder::Impl::put_frame(const Frame& frame) {
  if (!options.frames) return;
  bool worth = false;
  {
    const std::lock_guard lock(mutex);
    const bool low = !worth_waking();
    const std::size_t before = queue.frames.size(), size = frame.bytes.size() + 300;
    std::uint32_t length = 0;
    if (before + size <= options.frame_bytes_most && size <= kLongestFrame) {
      queue.frames.append(sizeof length, '\0');
      append_frame_body(queue.frames, frame);
      length = static_cast<std::uint32_t>(queue.frames.size() - before - sizeof length);
      std::memcpy(queue.frames.data() + before, &length, sizeof length);
    } else {
      queue.lost_frames.add(frame.received, frame.kind == Frame::Kind::bytes);
    }
    worth = low && worth_waking();
  }
  if (worth) wake.notify_one();
}

RecorderCounters Recorder::counters() const {
  const std::lock_guard lock(impl_->mutex);
  return impl_->shown;
}

void Recorder::flush() {
  std::unique_lock lock(impl_->mutex);
  const std::uint64_t round = ++impl_->wanted;
  impl_->wake.notify_one();
  impl_->done.wait(lock, [&] { return impl_->flushed >= round; });
}

}  // namespace brimwatch
