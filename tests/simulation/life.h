#pragma once
// One life of the daemon: from a start to a stop, a kill or a power loss. The house is the real one; what it stands on is
// the simulation's.
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "disk.h"
#include "journal/patient_keeper.h"
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
  Tally& tally;
  std::vector<std::unique_ptr<Source>>& sources;
  std::vector<std::unique_ptr<Sink>>& sinks;
  std::shared_ptr<const Calendar> calendar;
  Settings settings;
  std::uint64_t seed = 0;
};

class Life {
 public:
  /// The journal answers after so long: at once, late, or later than the daemon waits for it.
  Life(World& world, Nanos answers_after);
  ~Life();
  Life(const Life&) = delete;
  Life& operator=(const Life&) = delete;

  /// SIGTERM: writes what is left, lets deliveries end. False: it was not over after `most`, and goes on no further.
  bool stop(std::optional<Nanos> most = {});
  void kill(bool power_loss);

  /// SIGHUP, with what the files say now; before the journal is there it waits for that.
  void reload(Loaded loaded);
  void answer(const AnswerRequest& request, AnswerReply reply) { house_->answer(request, std::move(reply)); }
  [[nodiscard]] Stage stage() const { return house_->stage(); }
  /// `what`, unless this life is over by then.
  [[nodiscard]] std::function<void()> while_it_lives(std::function<void()> what) const;
  [[nodiscard]] const House& house() const { return *house_; }
  [[nodiscard]] Timestamp since() const { return since_; }
  /// Bytes on the heap that go with the house, and those that SQLite has. The simulation's own books, which grow with all
  /// that ever happened, do not count.
  [[nodiscard]] std::size_t bytes_held();

 private:
  HouseWorld make_world();
  Result<std::unique_ptr<Feed>> make_feed(const FeedSettings& settings);
  void open_journal(Nanos answers_after);
  void begin();
  void begin_without(const std::string& trouble);
  void begin_life(std::unique_ptr<Journal> journal);
  [[nodiscard]] PatientKeeper::World world_of_patient();
  void make_keeper(std::unique_ptr<Journal> journal);
  Result<std::unique_ptr<Journal>> open_at_last();
  void beat();
  void tell_day_over();

  World& world_;
  Timestamp since_;
  bool ticked_ = false;
  Date told_over_;
  std::uint64_t beats_ = 0;
  bool is_read_ = false;          ///< what the journal knew
  std::optional<Loaded> wanted_;  ///< a reload that waits for the start
  Desk* desk_ = nullptr;
  std::shared_ptr<int> alive_ = std::make_shared<int>(0);
  std::unique_ptr<House> house_;
  std::unique_ptr<PatientKeeper> patient_;  ///< stands before the keeper
  std::unique_ptr<SimKeeper> keeper_;
  std::unique_ptr<SimRecords> records_;
};

}  // namespace brimwatch::simulation
