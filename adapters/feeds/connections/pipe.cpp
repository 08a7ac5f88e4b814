#include "adapters/feeds/connections/pipe.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <boost/asio/io_context.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/read.hpp>
#include <boost/asio/steady_timer.hpp>

#include "adapters/feeds/backoff.h"
#include "adapters/feeds/connections/child.h"
#include "adapters/feeds/connections/line_splitter.h"
#include "adapters/feeds/intake.h"
#include "adapters/feeds/merge.h"
#include "adapters/process/child_environment.h"
#include "files/descriptor.h"

namespace brimwatch {
namespace {

namespace asio = boost::asio;

constexpr std::size_t kReadBytes = 64 * 1024;
constexpr std::size_t kErrorLineLongest = 500;
constexpr int kErrorLinesMost = 100;  // of one run of the child; the rest is counted

/// Reads a descriptor to its end and cuts it into lines. Held alive by its own reads; close() ends them.
class LineReader : public std::enable_shared_from_this<LineReader> {
 public:
  struct Handlers {
    LineSplitter::Sink line;
    std::function<void()> long_line;                      ///< one that is not given
    std::function<void()> block_done;                     ///< all lines of one read have been given
    std::function<void(std::string why, bool end)> over;  ///< once; end: the other side closed it
  };

  LineReader(asio::io_context& io, std::size_t longest, Handlers handlers)
      : stream_(io),
        io_(io),
        handlers_(std::move(handlers)),
        splitter_(
            longest,
            [this](std::string_view line) {
              if (open_) handlers_.line(line);
            },
            [this] {
              if (open_) handlers_.long_line();
            }) {}

  void begin(int descriptor) {
    open_ = true;
    struct stat about {};
    // A plain file is always ready and epoll refuses it: it is read block by block in between other work.
    if (::fstat(descriptor, &about) == 0 && S_ISREG(about.st_mode)) {
      plain_file_ = Descriptor(descriptor);
      return next();
    }
    boost::system::error_code error;
    stream_.assign(descriptor, error);
    if (error) {
      Descriptor(descriptor).close();
      asio::post(io_, [self = shared_from_this(), error] { self->finish(error.message(), false); });
      return;
    }
    next();
  }

  void close() {
    open_ = false;
    boost::system::error_code ignored;
    if (stream_.is_open()) stream_.close(ignored);
    plain_file_.close();
  }

 private:
  void next() {
    if (plain_file_.is_open()) {
      asio::post(io_, [self = shared_from_this()] {
        if (!self->open_) return;
        const ssize_t got = ::read(self->plain_file_.get(), self->buffer_.data(), self->buffer_.size());
        const auto error = got > 0 ? boost::system::error_code() : make_error_code(asio::error::eof);
        self->on_read(error, got > 0 ? static_cast<std::size_t>(got) : 0);
      });
      return;
    }
    stream_.async_read_some(asio::buffer(buffer_), [self = shared_from_this()](const auto& error, std::size_t got) {
      self->on_read(error, got);
    });
  }

  void on_read(const boost::system::error_code& error, std::size_t got) {
    if (!open_) return;
    splitter_.add({buffer_.data(), got});
    if (error == asio::error::eof) splitter_.finish();
    if (open_) handlers_.block_done();
    if (!open_) return;
    if (!error) return next();
    finish(error.message(), error == asio::error::eof);
  }

  void finish(const std::string& why, bool end) {
    if (!open_) return;
    close();
    handlers_.over(why, end);
  }

  asio::posix::stream_descriptor stream_;
  asio::io_context& io_;
  Handlers handlers_;
  LineSplitter splitter_;
  std::array<char, kReadBytes> buffer_{};
  Descriptor plain_file_;
  bool open_ = false;
};

class PipeFeed : public Feed {
 public:
  PipeFeed(const FeedSettings& settings, const FeedContext& context, Decoder decoder)
      : settings_(settings),
        context_(context),
        intake_(settings, context, std::move(decoder)),
        timer_(context.io),
        alive_(std::make_shared<bool>(true)) {}
  ~PipeFeed() override { end_run(); }
  PipeFeed(const PipeFeed&) = delete;
  PipeFeed& operator=(const PipeFeed&) = delete;

  void start(FeedListener& listener) override {
    intake_.attach(&listener);
    wait_and_open(0);
  }

  void stop() override {
    timer_.cancel();
    ++run_;
    end_run();
    intake_.set_state(FeedState::stopped, "stopped");
    intake_.attach(nullptr);
  }

  void subscribe(const std::vector<std::string>& symbols) override { intake_.want(symbols); }
  [[nodiscard]] FeedHealth health() const override { return intake_.health(); }

 private:
  [[nodiscard]] bool is_child() const { return !settings_.command.empty(); }

  /// Calls `what` only while this feed lives and the same run goes on: an old child's last words must not stir a new one.
  template <typename What>
  auto in_this_run(What what) {
    return [this, alive = std::weak_ptr<bool>(alive_), run = run_, what](auto&&... arguments) {
      if (!alive.expired() && run == run_) what(std::forward<decltype(arguments)>(arguments)...);
    };
  }

  void wait_and_open(Nanos wait) {
    ++run_;
    timer_.expires_after(std::chrono::nanoseconds(wait));
    timer_.async_wait(in_this_run([this](const boost::system::error_code& error) {
      if (!error) open();
    }));
  }

  void open() {
    if (!is_child() && !has_standard_input())
      return intake_.set_state(FeedState::down,
                               "there is no standard input here: name a command in the [[feed]], or "
                               "another kind of feed, and reload");
    if (!is_child()) {
      const int copy = ::fcntl(STDIN_FILENO, F_DUPFD_CLOEXEC, 3);
      if (copy < 0) return intake_.set_state(FeedState::down, "standard input is closed");
      out_ = read_lines(copy);
      return intake_.set_state(FeedState::up, "reading standard input");
    }
    const auto child = spawn_child(settings_.command, child_environment(settings_.environment));
    if (!child) return try_again(child.error().text);
    pid_ = child->pid;
    intake_.restart_sequences();
    out_ = read_lines(child->out);
    err_ = read_errors(child->err);
    intake_.set_state(FeedState::up, "reading " + settings_.command[0] + ", process " + std::to_string(pid_));
  }

  std::shared_ptr<LineReader> read_lines(int descriptor) {
    LineReader::Handlers handlers;
    handlers.line = in_this_run([this](std::string_view line) {
      if (line.empty()) return;
      intake_.take(line);
    });
    handlers.long_line = in_this_run([this] { intake_.lose("a line"); });
    handlers.block_done = in_this_run([this] {
      if (!intake_.has_ticks() && intake_.answers().empty()) return;
      if (intake_.has_ticks()) backoff_.on_data(context_.steady());
      for (const auto& answer : intake_.answers()) {
        if (!answer.accepted) intake_.note_refusal(answer.text);
      }
      intake_.flush();
    });
    handlers.over = in_this_run([this](const std::string& why, bool end) { on_over(why, end); });
    auto reader = std::make_shared<LineReader>(context_.io, settings_.frame_bytes_most, std::move(handlers));
    reader->begin(descriptor);
    return reader;
  }

  std::shared_ptr<LineReader> read_errors(int descriptor) {
    LineReader::Handlers handlers;
    handlers.line = [this, left = kErrorLinesMost, guard = std::weak_ptr<bool>(alive_)](std::string_view line) mutable {
      if (guard.expired() || left == 0) return;
      const LogFields about{.feed = settings_.name};
      const std::string name = "feed " + settings_.name + ": ";
      context_.log(LogLevel::warning, name + settings_.command[0] + " says: " + excerpt(line), about);
      if (--left == 0) context_.log(LogLevel::warning, name + "more of it is not logged", about);
    };
    handlers.long_line = [say = handlers.line] { say("(a line too long to be shown)"); };
    handlers.block_done = [] {};
    handlers.over = [](const std::string&, bool) {};
    auto reader = std::make_shared<LineReader>(context_.io, kErrorLineLongest, std::move(handlers));
    reader->begin(descriptor);
    return reader;
  }

  void on_over(const std::string& why, bool end) {
    if (!is_child()) {
      out_.reset();
      // There is no way to open it again; a pipe's end is an end.
      return intake_.set_state(FeedState::ended, end ? "standard input has ended" : "standard input: " + why);
    }
    end_child(context_.io, std::exchange(pid_, -1), in_this_run([this](const std::string& how) {
                out_.reset();
                try_again(settings_.command[0] + " " + how);
              }));
  }

  void try_again(const std::string& why) {
    const Nanos wait = backoff_.on_failure(context_.random());
    char when[48];
    std::snprintf(when, sizeof when, "; starting it again in %.1f s", static_cast<double>(wait) / 1e9);
    intake_.set_state(FeedState::down, why + when);
    wait_and_open(wait);
  }

  void end_run() {
    if (out_) out_->close();
    if (err_) err_->close();
    out_.reset();
    err_.reset();
    if (pid_ >= 0) end_child(context_.io, std::exchange(pid_, -1), {});
  }

  const FeedSettings settings_;
  const FeedContext& context_;
  Intake intake_;
  asio::steady_timer timer_;
  Backoff backoff_;
  std::shared_ptr<bool> alive_;  ///< dies with the feed: handlers that come later see it
  std::uint64_t run_ = 0;
  std::shared_ptr<LineReader> out_, err_;
  pid_t pid_ = -1;
};

}  // namespace

std::unique_ptr<Feed> make_pipe_feed(const FeedSettings& settings, const FeedContext& context, Decoder decoder) {
  return std::make_unique<PipeFeed>(settings, context, std::move(decoder));
}

}  // namespace brimwatch
