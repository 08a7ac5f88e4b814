#pragma once
// The daemon's own fetching of past days: after the close, again where it failed, before the open, and at once for what
// is new in the lists. On the loop's thread; files are read and written where the world says.
#include <boost/asio/io_context.hpp>
#include <functional>
#include <memory>
#include <string>
#include <string_view>

#include "app/history_round.h"
#include "core/log_sink.h"
#include "history/clock.h"
#include "session/calendar.h"

namespace brimwatch {

class HistoryKeeper {
 public:
  struct World {
    boost::asio::io_context& io;
    std::function<Timestamp()> wall;
    std::function<const Settings&()> settings;  ///< those in force
    std::function<const Calendar&()> calendar;
    /// As HistoryRound's; false: it will never be done, and neither is called.
    std::function<bool(std::function<void()> job, std::function<void()> then)> aside;
    std::function<void()> renew;                   ///< past days have changed: take them in
    std::function<void(const std::string&)> note;  ///< what could not be had, for the morning; empty: all could
    std::function<void(const std::string&)> tell;  ///< what the user must hear
    LogSink say;
  };
  explicit HistoryKeeper(World world) : world_(std::move(world)) {}

  void on_beat();
  /// Watches or sources may be new.
  void on_reload() { clock_.ask_anew(); }
  /// A job of the round will never end: the round is given up.
  void abandon(const std::string& why);

 private:
  void begin(Date last_session);
  void on_update(const SymbolUpdate& update);
  void on_end(const HistoryRoundResult& result);
  void tell_split(const Settings& settings, const SymbolUpdate& update) const;

  World world_;
  HistoryClock clock_;
  std::unique_ptr<HistoryRound> round_;
  Timestamp looked_;
};

}  // namespace brimwatch
