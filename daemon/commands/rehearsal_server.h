#pragma once
// A tape played as a live source on this machine: brimwatch serve. Composes the tape, the pure source that says what is
// due, and the server; on the loop's thread.
//
// It begins with the first subscription, or the first request of a poll, so that nobody misses the start; from then on it
// goes on whoever listens, as a source does. At the end of the tape it stays open and says nothing more.
#include <boost/asio/io_context.hpp>
#include <boost/asio/steady_timer.hpp>
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/net/push_server.h"
#include "core/result.h"
#include "core/symbols.h"
#include "rehearsal/message.h"
#include "rehearsal/snapshots.h"
#include "rehearsal/source.h"
#include "session/calendar.h"
#include "tape/reader.h"

namespace brimwatch {

struct RehearsalOptions {
  std::string tape;
  ServeAs as = ServeAs::stream;
  int port = 0;
  double speed = 1;
  int from_second = 0;  ///< of the tape's local day: what is before is left out
  std::uint64_t seed = 1;
  std::vector<Misbehaviour> misbehaviours;
  std::string calendar = "XNYS";  ///< whose local time the moments mean
};

class RehearsalServer {
 public:
  using Say = std::function<void(const std::string& line)>;

  static Result<std::unique_ptr<RehearsalServer>> open(boost::asio::io_context& io, RehearsalOptions options, Say say);
  RehearsalServer(const RehearsalServer&) = delete;
  RehearsalServer& operator=(const RehearsalServer&) = delete;

  [[nodiscard]] int port() const { return server_->port(); }
  [[nodiscard]] std::string configuration() const { return feed_configuration(options_.as, port(), options_.speed); }
  /// One line: what was sent and what went wrong on request.
  [[nodiscard]] std::string summary() const;

 private:
  struct Listener {
    std::vector<bool> wanted;  ///< by symbol
    std::string batch;         ///< messages that wait to go in one frame
  };

  RehearsalServer(boost::asio::io_context& io, RehearsalOptions options, Say say);
  void on_text(PushServer::Client client, std::string_view text);
  [[nodiscard]] std::string answer_to(Listener& listener, std::string_view text);
  PushReply answer(std::string_view target, std::string_view if_none_match);
  void begin();
  void turn();
  void refill(Nanos now);
  void perform(const SourceStep& step);
  void send(const SourceStep& step);
  void go_away(Nanos span);
  void flush(PushServer::Client client, Listener& listener);
  [[nodiscard]] int second_of_day(Timestamp time) const;

  boost::asio::io_context& io_;
  const RehearsalOptions options_;
  Say say_;
  std::shared_ptr<const Calendar> calendar_;
  SymbolTable symbols_;
  std::unique_ptr<TapeReader> reader_;
  RehearsalSource source_;
  Snapshots snapshots_;
  std::map<PushServer::Client, Listener> listeners_;
  boost::asio::steady_timer timer_, return_timer_;
  Nanos started_ = 0;
  bool begun_ = false, told_end_ = false;
  int status_once_ = 0;            ///< of the next answer to a poll
  std::uint64_t garble_once_ = 0;  ///< the next answer to a poll is broken so
  std::uint64_t sent_ = 0;
  std::string text_;
  std::unique_ptr<PushServer> server_;  // last: it calls the others
};

}  // namespace brimwatch
