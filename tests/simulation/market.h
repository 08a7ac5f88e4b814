#pragma once
// The truth: what traded on the exchange on a day, before any feed has had it. Trades with sale conditions, cancels,
// halts, closing prints; prices wander about the pivots, so that something happens.
#include <set>
#include <string>
#include <unordered_map>
#include <vector>

#include "core/tick.h"
#include "core/watch.h"
#include "dice.h"
#include "session/calendar.h"

namespace brimwatch::simulation {

struct MarketShape {
  std::size_t symbols = 12, watches = 24;
  int ticks_a_day = 4000;
  bool ids = true;  ///< trades have ids
  std::string mic = "XNYS";
};

class Market {
 public:
  Market(std::uint64_t seed, const MarketShape& shape);

  [[nodiscard]] const std::vector<Watch>& watches() const { return watches_; }
  [[nodiscard]] const std::vector<std::string>& names() const { return names_; }

  /// A tick's `symbol` is the index into names(). In the order of time.
  std::vector<Tick> day(const Session& session);
  /// A trade that never was, with a price so far off that nobody may believe it.
  Tick lie(Timestamp at);

  /// Why a print of that id may not have moved a price; empty when it may.
  [[nodiscard]] std::string why_not(std::uint64_t trade_id) const;
  static constexpr const char* kFarOff = "a price twelve percent off";
  /// The rule of two prints that agree has made it believable.
  void believe(std::uint64_t trade_id) { barred_.erase(trade_id); }
  void forget_prints() { barred_.clear(); }

 private:
  void look_like_splits();
  void add_status(std::vector<Tick>& to, std::size_t symbol, Timestamp at);
  void add_quote(std::vector<Tick>& to, std::size_t symbol, Timestamp at);
  void take_back(std::vector<Tick>& to, Timestamp before);
  void jump(std::vector<Tick>& to, std::size_t symbol, Timestamp at);
  void add_closing(std::vector<Tick>& to, std::size_t symbol, Timestamp close);
  void add_trade(std::vector<Tick>& to, std::size_t symbol, Timestamp at, const char* conditions);
  void move(std::size_t symbol);

  Dice dice_;
  MarketShape shape_;
  std::vector<std::string> names_;
  std::vector<double> prices_, anchors_;
  std::vector<double> busy_;
  std::vector<double> split_;  ///< by how much a night has changed all prices of a stock, until it changes back
  std::vector<Watch> watches_;
  std::uint64_t next_id_ = 1;
  std::unordered_map<std::uint64_t, const char*> barred_;  ///< by id: prints that move no price
};

}  // namespace brimwatch::simulation
