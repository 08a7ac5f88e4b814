#pragma once
// What this machine has seen of the members in the shared log: which forms they read, and how far their clocks are off.
// Spans are of this machine's own clock that goes on while it sleeps. Pure.
#include <map>
#include <string>
#include <utility>

#include "shared/entries/values.h"

namespace brimwatch {

class MembersSeen {
 public:
  /// `own` is this machine's name, `reads` the newest form that it reads; a member not seen for `left_after` has left.
  MembersSeen(std::string own, int reads, Nanos left_after);

  struct Reading {
    Nanos asked = 0, read = 0;
    Timestamp wall;  ///< when it was read
  };
  /// `changed`: some record is not as it was at the reading before.
  void note(const std::map<std::string, SharedMember>& members, bool changed, const Reading& reading);

  /// The newest form that all members read, and those that may come back: an older one that was killed, or cut off for a
  /// moment, must read all that was written meanwhile. Who has not looked for long does not know.
  [[nodiscard]] int format() const;
  /// Members whose clock is more than two seconds off ours, with by how much (theirs less ours).
  [[nodiscard]] const std::map<std::string, Nanos>& clocks_off() const { return clocks_off_; }

 private:
  void look_at_clock(const std::string& name, Timestamp clock, const Reading& reading);

  std::string own_;
  int reads_;
  Nanos left_after_;
  Nanos read_ = 0;                                      ///< the last reading; 0: none yet
  Nanos looking_since_ = 0;                             ///< without a break
  std::map<std::string, std::pair<int, Nanos>> forms_;  ///< what each member reads, and when it was last seen
  std::map<std::string, Timestamp> clocks_;             ///< as each last showed it
  std::map<std::string, Nanos> clocks_off_;
};

}  // namespace brimwatch
