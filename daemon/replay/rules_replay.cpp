#include "replay/rules_replay.h"

#include <algorithm>
#include <array>
#include <cstdlib>
#include <filesystem>

#include "desk/curves_used.h"
#include "session/session_days.h"

namespace brimwatch {
namespace {

namespace fs = std::filesystem;

class Silent : public ReplayListener {
 public:
  void on_notice(const NoticeRecord&) override {}
  void on_progress(std::uint64_t, Timestamp, double) override {}
};

bool is_recording(const fs::path& path) {
  std::string name = path.filename().string();
  for (const std::string_view packed : {".gz", ".zst"}) {
    if (name.ends_with(packed)) name.resize(name.size() - packed.size());
  }
  constexpr std::array<std::string_view, 3> kEndings{".csv", ".tsv", ".txt"};
  return std::any_of(kEndings.begin(), kEndings.end(), [&](std::string_view ending) { return name.ends_with(ending); });
}

}  // namespace

Result<std::vector<std::string>> tapes_in(const std::vector<std::string>& places) {
  std::vector<std::string> out;
  for (const std::string& place : places) {
    std::error_code error;
    if (!fs::is_directory(place, error)) {
      out.push_back(place);
      continue;
    }
    std::vector<std::string> inside;
    for (const auto& entry : fs::directory_iterator(place, error)) {
      if (entry.is_regular_file() && is_recording(entry.path())) inside.push_back(entry.path().string());
    }
    if (error) return fail(place + ": cannot be read: " + error.message());
    if (inside.empty())
      return fail(place + ": found no tapes or bars in it, expected files .csv, .tsv or .txt (.gz, .zst)");
    std::sort(inside.begin(), inside.end());
    out.insert(out.end(), inside.begin(), inside.end());
  }
  return out;
}

std::vector<ReviewWatch> review_watches(const Settings& settings) {
  std::vector<ReviewWatch> out;
  for (const Watch& watch : settings.watches)
    out.push_back({watch.symbol, watch.pivot, watch.from, watch.until, watch.rearm_level});
  return out;
}

std::vector<Date> review_sessions(const Settings& settings) {
  const WatchList& watches = settings.watches;
  for (std::size_t i = 0; i < watches.size(); ++i) {
    const Mic& own = watches.calendar(i);
    if (!own.empty() && own != Mic(settings.session.calendar)) return {};
  }
  const auto calendar = Calendar::load(settings.session.calendar, settings.session.calendar_files);
  return calendar ? session_days(**calendar) : std::vector<Date>{};
}

Result<Replayed> replay_rules(Settings settings, ReplayOptions options, const TemporaryFolder& folder, int number) {
  Replayed out;
  out.journal = folder.path() + "/" + std::to_string(number) + ".db";
  out.watches = review_watches(settings);
  auto desk = Desk::open(std::move(settings));
  if (!desk) return tl::unexpected(desk.error());
  out.problems = (*desk)->problems();
  out.curves = curves_used(**desk);
  options.journal = out.journal;
  Silent listener;
  auto summary = replay(**desk, options, listener);
  if (!summary) return tl::unexpected(summary.error());
  out.summary = std::move(*summary);
  return out;
}

}  // namespace brimwatch
