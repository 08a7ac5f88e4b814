#pragma once
// One life of the daemon: from a start to a stop, a kill or a power loss. The house is the real one; what it stands on is
// the simulation's.
#include <memory>
#include <string>
#include <vector>

#include "disk.h"
#include "ledger.h"
#include "live/ending.h"
#include "live/house.h"
#include "sink.h"
#include "source.h"
#include "virtual_time.h"

namespace brimwatch::simulation {

/// What outlives the daemon.
struct World {
  VirtualTime& time;
  Disk& disk;
  Ledger& ledger;
  std::vector<std::unique_ptr<Source>>& sources;
  std::vector<std::unique_ptr<Sink>>& sinks;
  std::shared_ptr<const Calendar> calendar;
  Settings settings;
  std::uint64_t seed = 0;
};

class Life {
 public:
  explicit Life(World& world);
  ~Life();
  Life(const Life&) = delete;
  Life& operator=(const Life&) = delete;

  /// SIGTERM: writes what is left, lets deliveries end.
  void stop();
  void kill(bool power_loss);

  /// SIGHUP, with what the files say now.
  void reload(Loaded loaded);
  void answer(const AnswerRequest& request, AnswerReply reply) { house_->answer(request, std::move(reply)); }
  [[nodiscard]] const House& house() const { return *house_; }
  [[nodiscard]] Timestamp since() const { return since_; }
  /// Bytes on the heap that go with the house, and those that SQLite has. The simulation's own books, which grow with all
  /// that ever happened, do not count.
  [[nodiscard]] std::size_t bytes_held();

 private:
  HouseWorld make_world();
  Result<std::unique_ptr<Feed>> make_feed(const FeedSettings& settings);
  void open_journal();
  void beat();
  void tell_day_over();

  World& world_;
  Timestamp since_;
  bool ticked_ = false;
  Date told_over_;
  std::uint64_t beats_ = 0;
  Desk* desk_ = nullptr;
  std::shared_ptr<int> alive_ = std::make_shared<int>(0);
  std::unique_ptr<House> house_;
  std::unique_ptr<SimKeeper> keeper_;
  std::unique_ptr<SimRecords> records_;
};

}  // namespace brimwatch::simulation
