#pragma once
// A shared log in memory, whole: every version of every key, leases that end, transactions that compare. What it decides
// is held against the real one by contract_test.cpp. Time is told to it.
#include <algorithm>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/shared_log.h"

namespace brimwatch::test {

class FakeLog {
 public:
  /// Leases that have ended by then end, and their keys go.
  void advance(Nanos now) {
    now_ = now;
    if (held_) return;
    for (auto lease = leases_.begin(); lease != leases_.end();) {
      if (lease->second.until > now) {
        ++lease;
        continue;
      }
      const std::int64_t id = lease->first;
      lease = leases_.erase(lease);
      end_keys_of(id);
    }
  }

  LogAnswer decide(const LogRequest& request) {
    LogAnswer answer;
    answer.outcome = LogAnswer::Outcome::done;
    switch (request.kind) {
      case LogRequest::Kind::grant:
        if (full_) return refused("mvcc: database space exceeded");
        answer.lease = ++last_lease_;
        answer.ttl = request.ttl;
        leases_[answer.lease] = {request.ttl, now_ + request.ttl};
        break;
      case LogRequest::Kind::renew: {
        const auto lease = leases_.find(request.lease);
        if (lease != leases_.end()) lease->second.until = now_ + lease->second.ttl, answer.ttl = lease->second.ttl;
        answer.lease = request.lease;
        break;
      }
      case LogRequest::Kind::revoke:
        if (leases_.erase(request.lease) == 0) return refused("requested lease not found");
        end_keys_of(request.lease);
        break;
      case LogRequest::Kind::commit:
        return commit(request);
    }
    answer.revision = revision_, answer.term = term_;
    return answer;
  }

  void set_full(bool full) { full_ = full; }
  /// Without a leader of its own nothing ends.
  void hold_leases(bool hold) { held_ = hold; }
  /// Another of its own members leads: every lease begins anew, and a timeout of the election longer (etcd's lessor).
  void elect() {
    ++term_;
    for (auto& [id, lease] : leases_) lease.until = std::max(lease.until, now_ + lease.ttl + kSecond / 2);
  }
  /// What was before now can be read as it was then no more.
  void compact() { compacted_ = revision_; }
  [[nodiscard]] const LogEntry* find(const std::string& key) const { return at(key, revision_); }
  [[nodiscard]] std::vector<LogEntry> all() const { return read({"", std::string(1, '\x7f')}).entries; }
  [[nodiscard]] Revision revision() const { return revision_; }

 private:
  struct Lease {
    Nanos ttl, until;
  };
  using Versions = std::vector<std::pair<Revision, std::optional<LogEntry>>>;

  static LogAnswer refused(const char* words) {
    LogAnswer answer;
    answer.outcome = LogAnswer::Outcome::refused;
    answer.words = words;
    return answer;
  }

  [[nodiscard]] const LogEntry* at(const std::string& key, Revision when) const {
    const auto versions = keys_.find(key);
    return versions == keys_.end() ? nullptr : at(versions->second, when);
  }
  static const LogEntry* at(const Versions& versions, Revision when) {
    const auto after = std::upper_bound(versions.begin(), versions.end(), when,
                                        [](Revision wanted, const auto& version) { return wanted < version.first; });
    if (after == versions.begin()) return nullptr;
    const std::optional<LogEntry>& found = std::prev(after)->second;
    return found ? &*found : nullptr;
  }

  LogAnswer commit(const LogRequest& request) {
    const auto takes_room = [](const LogWrite& write) { return !write.remove; };
    if (full_ && std::any_of(request.writes.begin(), request.writes.end(), takes_room))
      return refused("mvcc: database space exceeded");
    for (const LogWrite& write : request.writes)
      if (write.lease != 0 && !leases_.contains(write.lease)) return refused("requested lease not found");
    for (const LogRange& range : request.ranges)
      if (range.at != 0 && range.at < compacted_) return refused("mvcc: required revision has been compacted");
    LogAnswer answer;
    answer.outcome = LogAnswer::Outcome::done;
    answer.held = std::all_of(request.conditions.begin(), request.conditions.end(), [this](const LogCondition& one) {
      const LogEntry* const entry = find(one.key);
      return (entry == nullptr ? 0 : entry->created) == one.created;
    });
    if (answer.held && !request.writes.empty()) {
      ++revision_;
      for (const LogWrite& write : request.writes) write_one(write);
    }
    answer.revision = revision_, answer.term = term_;
    for (const LogRange& range : request.ranges) answer.pages.push_back(read(range));
    return answer;
  }

  void write_one(const LogWrite& write) {
    if (write.remove) {
      for (auto& [key, versions] : keys_) {
        const bool meant = write.until.empty() ? key == write.key : key >= write.key && key < write.until;
        if (meant && at(versions, revision_) != nullptr) versions.emplace_back(revision_, std::nullopt);
      }
      return;
    }
    const LogEntry* const before = find(write.key);
    LogEntry entry{write.key, write.value, before == nullptr ? revision_ : before->created, revision_, write.lease};
    keys_[write.key].emplace_back(revision_, std::move(entry));
    changes_.emplace_back(revision_, write.key);
  }

  [[nodiscard]] LogPage read(const LogRange& range) const {
    LogPage page;
    const Revision when = range.at == 0 ? revision_ : range.at;
    if (range.changed_since > 0 && range.at == 0) return read_changes(range);
    for (auto one = keys_.lower_bound(range.key); one != keys_.end(); ++one) {
      const bool meant = range.until.empty() ? one->first == range.key : one->first < range.until;
      if (!meant) break;
      const LogEntry* const entry = at(one->second, when);
      if (entry == nullptr || entry->changed < range.changed_since) continue;
      if (range.most > 0 && page.entries.size() == static_cast<std::size_t>(range.most)) {
        page.more = true;
        break;
      }
      page.entries.push_back(*entry);
    }
    return page;
  }

  /// The same by what was written since then: who asks ten times a second would wait for all keys each time.
  [[nodiscard]] LogPage read_changes(const LogRange& range) const {
    LogPage page;
    std::set<std::string_view> keys;
    for (auto one = changes_.rbegin(); one != changes_.rend() && one->first >= range.changed_since; ++one)
      if (range.until.empty() ? one->second == range.key : one->second >= range.key && one->second < range.until)
        keys.insert(one->second);
    for (const std::string_view key : keys) {
      const LogEntry* const entry = find(std::string(key));
      if (entry == nullptr) continue;
      if (range.most > 0 && page.entries.size() == static_cast<std::size_t>(range.most)) {
        page.more = true;
        break;
      }
      page.entries.push_back(*entry);
    }
    return page;
  }

  void end_keys_of(std::int64_t lease) {
    bool counted = false;
    for (auto& [key, versions] : keys_) {
      const LogEntry* const entry = at(versions, revision_);
      if (entry == nullptr || entry->lease != lease) continue;
      if (!counted) ++revision_, counted = true;
      versions.emplace_back(revision_, std::nullopt);
    }
  }

  std::map<std::string, Versions> keys_;
  std::vector<std::pair<Revision, std::string>> changes_;  ///< in their order; removals are seen at the key
  std::map<std::int64_t, Lease> leases_;
  Revision revision_ = 1, compacted_ = 0;
  std::int64_t last_lease_ = 7000;
  Nanos now_ = 0;
  std::uint64_t term_ = 2;
  bool full_ = false, held_ = false;
};

}  // namespace brimwatch::test
