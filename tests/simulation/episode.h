#pragma once
// Some sessions in a row with everything that happens to a daemon meanwhile, all from one seed.
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "dice.h"
#include "life.h"
#include "people.h"

namespace brimwatch::simulation {

struct EpisodeShape {
  int sessions = 5;
  bool faults = true;
  bool deaths = true;                 ///< kills, power losses, restarts
  std::optional<int> minutes_behind;  ///< of all sources' data; else a seed in four has some
  Date begin = Date::of(2023, 1, 2);
  std::string folder;  ///< for the journal, on a fast disk; removed at the end
  std::function<void(int sessions, Date day, Life& life)> on_session;  ///< after each; may be empty
};

struct EpisodeResult {
  int sessions = 0;
  Nanos in_session = 0, in_all = 0;  ///< virtual time
  std::uint64_t ticks = 0, expected = 0, events = 0;
  std::vector<std::string> troubles;  ///< none: all is well
};

class Episode {
 public:
  Episode(std::uint64_t seed, EpisodeShape shape, Tally& tally);
  EpisodeResult run();

 private:
  [[nodiscard]] Settings make_settings() const;
  [[nodiscard]] Nanos behind() const;
  void session(const Session& session);
  void plan_faults(const Session& session);
  void some_time_in(const Session& session, double per_day, const std::function<void()>& what);
  void start();
  void disturb_the_start(Nanos within);
  void die(bool power_loss);
  void end_life();
  void restart_gracefully();
  void wrong_clock();
  void reload();
  [[nodiscard]] Loaded files_now();
  void acknowledge();
  void let_people_answer(const Session& session);
  void night(const Session& session, const Session& next);
  void send_past_days(const Session& session, const Session& next);
  void come_to_rest();
  void look_at_silence();

  std::uint64_t seed_;
  EpisodeShape shape_;
  Tally& tally_;
  std::shared_ptr<const Calendar> calendar_;
  Dice dice_, starts_;
  const Session* first_;
  VirtualTime time_;
  Market market_;
  Disk disk_;
  Ledger ledger_;
  std::vector<std::unique_ptr<Source>> sources_;
  std::vector<std::unique_ptr<Sink>> sinks_;
  World world_;
  std::unique_ptr<Life> life_;
  People people_;
  const Life* seen_ = nullptr;  ///< that one, also while it ends
  Timestamp quiet_until_;       ///< nothing trades before
  std::uint64_t starts_made_ = 0;
  bool at_rest_ = false;
  EpisodeResult result_;
  const Session* now_in_ = nullptr;
};

}  // namespace brimwatch::simulation
