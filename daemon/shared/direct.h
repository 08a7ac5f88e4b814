#pragma once
// What members ask each other where the shared log does not answer: "do you speak?", at the address that each has
// published in its record. A member that is cut off from the log, and hears that another speaks, has no reason to.
//
// One thread, the loop's; asking itself is somebody else's business (World::ask), on whichever thread.
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <string_view>

#include "core/result.h"
#include "core/text/timestamp.h"
#include "shared/entries/values.h"

namespace brimwatch {

/// What a member answers: {"v":1,"house":"mine","name":"home","role":"speaking","well":true}. Nothing in it is secret.
struct DirectAnswer {
  std::string house, name;
  std::string role;  ///< a word of Role; what speaks is "speaking" or "alone"
  bool well = true;  ///< false: it hears no feed, or cannot keep what it says; nobody keeps silent for its sake
};
[[nodiscard]] std::string to_value(const DirectAnswer& answer);
[[nodiscard]] Result<DirectAnswer> direct_answer_from(std::string_view value);

class DirectQuestions {
 public:
  /// Asks at that address; `then` gets what was said, or an empty text, once, not before this returns, on our thread.
  using Ask = std::function<void(const std::string& address, std::function<void(std::string said)> then)>;

  /// Without `ask` nobody is asked, and nobody is ever heard.
  DirectQuestions(std::string house, std::string name, Ask ask)
      : house_(std::move(house)), name_(std::move(name)), ask_(std::move(ask)), alive_(std::make_shared<int>(0)) {}
  DirectQuestions(const DirectQuestions&) = delete;
  DirectQuestions& operator=(const DirectQuestions&) = delete;

  /// The members as the log has them: those that have gone are asked all the same.
  void know(const std::map<std::string, SharedMember>& members);
  /// Asks them all, every two seconds.
  void look(Nanos now);

  /// Instants are those that were given to look().
  struct Heard {
    Nanos asked = 0;   ///< the newest question that has been answered or not
    Nanos said = 0;    ///< the newest that was answered
    std::string role;  ///< by that answer; "not well" of one that is not; empty: it never answered
  };
  [[nodiscard]] const std::map<std::string, Heard>& heard() const { return heard_; }
  /// Who has said, when asked at `since` or later, that it speaks; with `in_log` only one that the log has chosen.
  [[nodiscard]] std::string speaker_since(Nanos since, bool in_log) const;
  /// The newest instant at which one was asked and said that it speaks; far back: never.
  [[nodiscard]] Nanos last_spoken() const;
  /// Everybody with an address was asked since then, and has answered or not; true where there is none.
  [[nodiscard]] bool has_asked_since(Nanos since) const;

  /// How many of those with an address come before `name`, without `but`.
  [[nodiscard]] int names_before(const std::string& name, const std::string& but) const;

  static constexpr Nanos kEvery = 2 * kSecond;
  static constexpr Nanos kQuiet = 10 * kSecond;  ///< no word for so long, asked every two seconds: it does not answer

 private:
  void on_said(const std::string& name, Nanos asked, std::string_view said);

  std::string house_, name_;
  Ask ask_;
  std::shared_ptr<int> alive_;
  std::map<std::string, std::string> addresses_;  ///< by name
  std::map<std::string, Heard> heard_;
  Nanos asked_ = 0;
};

}  // namespace brimwatch
