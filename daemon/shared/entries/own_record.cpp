#include "shared/entries/own_record.h"

#include <utility>

namespace brimwatch {

OwnRecord::OwnRecord(const SharedKeys& keys, std::string name, int reads)
    : keys_(keys), name_(std::move(name)), reads_(reads) {}

std::vector<LogWrite> OwnRecord::due(SharedMember member, const std::function<std::string()>& list,
                                     const std::function<std::string()>& rules, const Moment& moment) {
  std::vector<LogWrite> writes;
  member.name = name_, member.reads = reads_;
  if (member.list != list_) writes.push_back({keys_.list(name_), list()}), list_ = member.list;
  if (!member.rules.empty() && member.rules != rules_)
    writes.push_back({keys_.rules(name_), rules()}), rules_ = member.rules;
  if (moment.now - written_at_ < kEvery && member == written_) return writes;
  written_at_ = moment.now, written_ = member;
  member.clock = moment.wall;
  writes.push_back({keys_.member(name_), to_value(member), moment.lease});
  return writes;
}

void OwnRecord::on_new_lease(Nanos asked) {
  not_before_ = asked;
  written_at_ = asked - kEvery;  // what was on the one before has gone with it
}

void OwnRecord::on_no_answer(Nanos asked, bool refused) {
  written_at_ = asked - kEvery, list_.reset(), rules_.reset();
  if (refused) not_before_ = asked + kEvery;
}

}  // namespace brimwatch
