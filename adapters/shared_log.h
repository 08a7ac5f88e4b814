#pragma once
// The one log that several machines share, as far as the house needs it: keys with values and revisions, transactions
// that compare before they write, leases that end by themselves. etcd is one (adapters/etcd), a test's fake another.
//
// An answer may be lost: `unknown` means that nobody knows whether it was done. Whoever asked reads again.
#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "core/text/timestamp.h"

namespace brimwatch {

/// A revision counts every change of the whole log, upwards; 0: none.
using Revision = std::int64_t;

struct LogEntry {
  std::string key, value;
  Revision created = 0, changed = 0;
  std::int64_t lease = 0;  ///< 0: it stays until it is removed
};

/// "That key was created at that revision"; 0: "it is not there".
struct LogCondition {
  std::string key;
  Revision created = 0;
};

struct LogWrite {
  std::string key;
  std::string value;
  std::int64_t lease = 0;
  bool remove = false;
  std::string until{};  ///< with remove: every key from `key` up to, without, this one; empty: that key alone
};

/// Keys from `key` up to, without, `until`; with an empty `until` that key alone.
struct LogRange {
  std::string key;
  std::string until{};
  Revision changed_since = 0;  ///< only entries changed at this revision or later; 0: all
  Revision at = 0;             ///< as they were then; 0: now
  int most = 0;                ///< entries, the first by key; 0: all
};

struct LogRequest {
  enum class Kind : std::uint8_t { commit, grant, renew, revoke } kind = Kind::commit;
  // commit: where all conditions hold, the writes are done; the ranges are read after them, and in any case.
  std::vector<LogCondition> conditions{};
  std::vector<LogWrite> writes{};
  std::vector<LogRange> ranges{};
  // grant: `ttl` is wanted; renew, revoke: of `lease`.
  Nanos ttl = 0;
  std::int64_t lease = 0;
  Nanos patience = kSecond;  ///< how long an answer is waited for
};

struct LogPage {
  std::vector<LogEntry> entries;  ///< by key
  bool more = false;              ///< `most` cut it short
};

struct LogAnswer {
  enum class Outcome : std::uint8_t {
    done,     ///< the log has decided; of a commit, `held` says how
    refused,  ///< it was not done: no such lease, no room, no right; `words` says which
    unknown,  ///< no answer, or none that tells
  } outcome = Outcome::unknown;
  bool held = false;  ///< all conditions held, and the writes are done
  Revision revision = 0;
  std::vector<LogPage> pages{};
  std::int64_t lease = 0;
  Nanos ttl = 0;  ///< of a lease that was granted or renewed; 0: there is no such lease any more
  /// Another number than before: the log's own members have elected a leader meanwhile, and the lives of all leases have
  /// begun anew, also of those whose owners are gone. 0: not said.
  std::uint64_t term = 0;
  std::string words{};  ///< where it is not done: one line for a person

  [[nodiscard]] bool is_done() const { return outcome == Outcome::done; }
};

class SharedLog {
 public:
  using Then = std::function<void(LogAnswer)>;
  virtual ~SharedLog() = default;
  /// Answers once, on the caller's thread, not before this returns. Never blocks. Renewals are not held up by the rest.
  virtual void ask(LogRequest request, Then then) = 0;
};

constexpr std::size_t kLogWritesMost = 100;             ///< in one commit; etcd takes 128 operations
constexpr std::size_t kLogBytesMost = 1024UL * 1024UL;  ///< of one commit; etcd takes 1.5 MB

}  // namespace brimwatch
