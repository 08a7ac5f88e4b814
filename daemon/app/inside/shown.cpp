// The state of the house and of the daemon around it, for whoever asks.
#include "app/inside/impl.h"
#include "app/snapshot_json.h"

namespace brimwatch {

/// The house's, and what only the daemon around it knows.
Snapshot Daemon::Impl::snapshot() {
  Snapshot view = house->snapshot();
  view.upkeep.started = started_at;
  view.upkeep.log_lines_dropped = log.dropped();
  view.upkeep.journal_bytes = journal_bytes;
  view.upkeep.has_heartbeat = !house->desk().settings().life.heartbeat_url.empty();
  if (pulse != nullptr) {
    view.upkeep.heartbeats = pulse->called();
    view.upkeep.heartbeats_failed = pulse->failed();
    view.upkeep.heartbeat_failing = pulse->is_failing();
  }
  return view;
}

/// The snapshot is gathered here, and made into text aside: the feed does not wait for it.
std::function<std::string()> Daemon::Impl::gather_now() {
  return [view = std::make_shared<const Snapshot>(snapshot()), offset = house->offset()] {
    return to_json(*view, offset) + "\n";
  };
}

}  // namespace brimwatch
