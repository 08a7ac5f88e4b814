#pragma once
// What people say back, at whichever member: written to the shared log first, which decides the order, and in force at
// each member in that order. A member that speaks alone puts it in force at once, and the log gets it later; where
// something of the others' came between, it takes effect anew in its place.
//
// Acknowledgements have no order and go a way of their own (shared_keeper.h). One thread, the loop's.
#include <deque>
#include <functional>
#include <map>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include "core/log_level.h"
#include "core/result.h"
#include "shared/entries/operations.h"
#include "shared/voice.h"

namespace brimwatch {

class SharedAnswers {
 public:
  using Reply = std::function<void(Status)>;
  struct World {
    std::function<Nanos()> boot;
    std::function<Timestamp()> wall;
    std::function<void(LogLevel, std::string_view)> say;
    /// In this order they take effect. One that is known takes effect anew where a new one before it is of its stock.
    std::function<void(std::vector<Answer>)> take;
    /// One that was given alone has its place in the log, and others of its stock came before it: it takes effect anew.
    std::function<void(const Answer&)> take_again;
  };
  SharedAnswers(Voice& voice, SharedLog& log, World world)
      : voice_(voice), log_(log), world_(std::move(world)), alive_(std::make_shared<int>(0)) {}
  SharedAnswers(const SharedAnswers&) = delete;
  SharedAnswers& operator=(const SharedAnswers&) = delete;

  /// `reply` once it has been given to `take`, or with the one line why not.
  void give(Answer answer, Reply reply);
  /// What this machine's journal had at the start, in its order: what the log lacks of it is written there.
  void begin_with(std::vector<Answer> answers) { of_journal_ = std::move(answers), has_looked_ = false; }
  void on_changes(const SharedChanges& changes) { take(changes.answers); }
  void on_beat();
  /// Mutes that the one before may not have had in its watches when it fell silent, in their order.
  [[nodiscard]] std::vector<Answer> mutes_to_give_again() const;
  /// In force here, and not in the log yet.
  [[nodiscard]] std::size_t waiting() const;

  static constexpr Nanos kPatience = 5 * kSecond;  ///< whoever asks is not left waiting for longer
  static constexpr std::size_t kWaitingMost = 10'000;
  static constexpr int kDaysKept = 400;  ///< in the log: a stock may be held for a year
  static constexpr Nanos kJustNow = 10 * kSecond;

 private:
  struct Waiting {
    Answer answer;
    Reply reply;
    Nanos since = 0;
    bool in_force = false;   ///< given alone
    bool overtaken = false;  ///< others of its stock have taken effect here since then
  };
  void go_on();
  void begin_upload();
  [[nodiscard]] std::set<std::string> stocks_new_to_journal() const;
  void put_all_in_force();
  void put_in_force(Waiting& one);
  void ask(const Waiting& one);
  void on_answer(const std::string& id, LogAnswer answer);
  void on_refused(Waiting& one, const std::string& words);
  void give_up_late();
  void take(const std::vector<Answer>& answers);

  Voice& voice_;
  SharedLog& log_;
  World world_;
  std::shared_ptr<int> alive_;
  std::deque<Waiting> waiting_;
  std::vector<Answer> of_journal_;
  std::map<std::string, Nanos> taken_at_;  ///< of the last seconds, by id
  bool asking_ = false, has_looked_ = false;
  Nanos not_before_ = 0;
};

}  // namespace brimwatch
