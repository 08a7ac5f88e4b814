#include "app/snapshot_json.h"

#include <cmath>
#include <nlohmann/json.hpp>

#include "core/text/notice_json.h"

namespace brimwatch {
namespace {

using Json = nlohmann::ordered_json;

Json price(Price value) { return value.is_set() ? Json(value.as_double()) : Json(nullptr); }
Json rounded(double value, double unit) { return std::round(value / unit) * unit; }

Json volume(const VolumeView& view) {
  Json out;
  out["so_far"] = view.so_far.as_double();
  const bool judged = view.why_not == NoJudgement::none;
  out["normal"] = view.normal.micros > 0 ? Json(view.normal.as_double()) : Json(nullptr);
  out["projected"] = judged ? Json(std::round(view.projected)) : Json(nullptr);
  out["low"] = judged ? Json(std::round(view.low)) : Json(nullptr);
  out["high"] = judged ? Json(std::round(view.high)) : Json(nullptr);
  out["surge"] = judged ? rounded(view.surge, 0.1) : Json(nullptr);
  out["needed"] = view.needed;
  out["odds"] = judged ? rounded(view.odds, 0.0001) : Json(nullptr);
  out["weight"] = to_string(view.weight);
  return out;
}

Json watch(const WatchRow& row, std::chrono::seconds offset) {
  Json out;
  out["symbol"] = row.symbol;
  out["pivot"] = price(row.pivot);
  out["range_top"] = price(row.range_top);
  out["loss_limit"] = price(row.loss_limit);
  out["last"] = price(row.last);
  out["last_close"] = price(row.last_close);
  out["day_high"] = price(row.day_high);
  out["distance"] =
      row.last.is_set() ? rounded((row.last.as_double() / row.pivot.as_double() - 1) * 100, 0.01) : Json(nullptr);
  out["side"] = to_string(row.side);
  out["armed"] = row.armed;
  out["in_force"] = row.in_force;
  out["from"] = row.from ? Json(to_string(*row.from)) : Json(nullptr);
  out["until"] = row.until ? Json(to_string(*row.until)) : Json(nullptr);
  out["last_time"] = row.last_time.is_set() ? Json(to_rfc3339(row.last_time, offset)) : Json(nullptr);
  out["muted_until"] = row.muted_until.is_set() ? Json(to_rfc3339(row.muted_until, offset)) : Json(nullptr);
  out["muted_under_pivot"] = row.muted_under;
  out["added"] = row.added;
  out["bought"] = price(row.bought);
  out["shares"] = row.shares > Shares{} ? Json(row.shares.as_double()) : Json(nullptr);
  const Price now = row.last.is_set() ? row.last : row.last_close;
  out["on_bought"] = row.bought.is_set() && now.is_set()
                         ? rounded((now.as_double() / row.bought.as_double() - 1) * 100, 0.01)
                         : Json(nullptr);
  out["volume"] = volume(row.volume);
  out["history_days"] = row.history_days;
  out["history_days_heard"] = row.heard_days;
  out["history_doubts"] = row.doubts;
  out["note"] = row.note;
  out["held"] = price(row.held);
  out["mute"] = row.mute;
  out["list"] = row.list;
  out["report"] = row.report ? Json(to_string(*row.report)) : Json(nullptr);
  return out;
}

Json feed(const FeedRow& row) {
  Json recognised = Json::object();
  for (const auto& [name, count] : row.recognised) recognised[std::string(name)] = count;
  Json unknown_codes = Json::object();
  for (const auto& [code, count] : row.unknown_codes) unknown_codes[code] = count;
  return Json{{"name", row.name},
              {"kind", row.kind},
              {"state", row.state},
              {"text", row.text},
              {"carrying", row.carrying},
              {"ticks", row.ticks},
              {"malformed", row.malformed},
              {"example", row.example},
              {"unknown_codes", std::move(unknown_codes)},
              {"reconnects", row.reconnects},
              {"lag_seconds", row.lag_seconds < 0 ? Json(nullptr) : rounded(row.lag_seconds, 0.001)},
              {"silent_seconds", row.silent_seconds < 0 ? Json(nullptr) : rounded(row.silent_seconds, 0.1)},
              {"recognised", std::move(recognised)}};
}

Json channel(const ChannelRow& row) {
  return Json{{"name", row.name},       {"kind", row.kind},
              {"state", row.state},     {"delivered", row.delivered},
              {"retried", row.retried}, {"dead", row.dead},
              {"expired", row.expired}, {"unknown", row.unknown},
              {"waiting", row.waiting}, {"last_reply", row.last_reply}};
}

Json notice(const NoticeRecord& record, const Snapshot& snapshot) {
  Json out = Json::parse(brimwatch::to_json(record));
  out["deliveries"] = Json::array();
  if (const auto sent = snapshot.sent.find(record.id); sent != snapshot.sent.end()) {
    for (const SentMark& mark : sent->second)
      out["deliveries"].push_back({{"channel", mark.channel}, {"state", mark.state}, {"reply", mark.reply}});
  }
  return out;
}

Json recording(const RecordingRow& row) {
  if (!row.on) return nullptr;
  return Json{{"ticks", row.ticks},
              {"frames", row.frames},
              {"dropped_ticks", row.dropped_ticks},
              {"dropped_frames", row.dropped_frames},
              {"bytes", row.bytes},
              {"removed_files", row.removed_files},
              {"errors", row.errors},
              {"trouble", row.trouble}};
}

Json configuration(const ConfigurationRow& row, std::chrono::seconds offset) {
  return Json{{"read", row.read.is_set() ? Json(to_rfc3339(row.read, offset)) : Json(nullptr)},
              {"refused", row.refused.empty() ? Json(nullptr) : Json(row.refused)},
              {"warnings", row.warnings}};
}

Json shared_house(const SharedRow& row, std::chrono::seconds offset) {
  if (!row.on) return nullptr;
  const auto time = [offset](Timestamp at) { return at.is_set() ? Json(to_rfc3339(at, offset)) : Json(nullptr); };
  Json out{{"name", row.name},
           {"house", row.house},
           {"role", row.role},
           {"since", time(row.since)},
           {"speaker", row.speaker},
           {"speaks_since", time(row.speaks_since)},
           {"trouble", row.trouble},
           {"silent_seconds", row.silent_seconds},
           {"answers_waiting", row.answers_waiting}};
  out["members"] = Json::array();
  for (const SharedMemberRow& one : row.members)
    out["members"].push_back({{"name", one.name},
                              {"speaks", one.speaks},
                              {"version", one.version},
                              {"feed", one.feed},
                              {"watches", one.watches},
                              {"same_list", one.same_list},
                              {"same_rules", one.same_rules},
                              {"well", one.well},
                              {"trouble", one.trouble},
                              {"direct", one.direct.empty() ? Json(nullptr) : Json(one.direct)},
                              {"answered", one.answered.empty() ? Json(nullptr) : Json(one.answered)},
                              {"clock_off", one.clock_off ? Json(*one.clock_off) : Json(nullptr)}});
  for (const auto& [name, count] : row.counters) out["counts"][std::string(name)] = count;
  return out;
}

Json upkeep(const UpkeepRow& row, std::chrono::seconds offset) {
  return Json{{"started", row.started.is_set() ? Json(to_rfc3339(row.started, offset)) : Json(nullptr)},
              {"reloads", row.reloads},
              {"reloads_refused", row.reloads_refused},
              {"journal_bytes", row.journal_bytes > 0 ? Json(row.journal_bytes) : Json(nullptr)},
              {"log_lines_dropped", row.log_lines_dropped}};
}

}  // namespace

std::string to_json(const Snapshot& snapshot, std::chrono::seconds offset) {
  Json out;
  out["time"] = to_rfc3339(snapshot.time, offset);
  out["rehearsal"] = snapshot.rehearsal;
  out["version"] = snapshot.version;
  out["session"] = snapshot.session;
  out["day"] = to_string(snapshot.day);
  out["half_day"] = snapshot.half_day;
  out["open"] = snapshot.open.is_set() ? Json(to_rfc3339(snapshot.open, offset)) : Json(nullptr);
  out["close"] = snapshot.close.is_set() ? Json(to_rfc3339(snapshot.close, offset)) : Json(nullptr);
  out["next_open"] = snapshot.next_open.is_set() ? Json(to_rfc3339(snapshot.next_open, offset)) : Json(nullptr);
  out["trend"] = to_string(snapshot.trend);
  for (const char* list : {"watches", "feeds", "channels", "notices"}) out[list] = Json::array();
  for (const WatchRow& row : snapshot.watches) out["watches"].push_back(watch(row, offset));
  for (const FeedRow& row : snapshot.feeds) out["feeds"].push_back(feed(row));
  for (const ChannelRow& row : snapshot.channels) out["channels"].push_back(channel(row));
  for (const NoticeRecord& record : snapshot.latest) out["notices"].push_back(notice(record, snapshot));
  if (snapshot.shared.on) out["shared"] = shared_house(snapshot.shared, offset);
  out["recording"] = recording(snapshot.recording);
  out["configuration"] = configuration(snapshot.configuration, offset);
  out["counts"] = {{"ticks", snapshot.ticks},
                   {"notices", snapshot.notices},
                   {"holes", snapshot.holes},
                   {"journal_waiting", snapshot.journal_waiting},
                   {"journal_failures", snapshot.journal_failures}};
  out["engine"] = Json::object();
  for (const auto& [name, count] : snapshot.engine) out["engine"][std::string(name)] = count;
  out["journal_trouble"] = snapshot.journal_trouble;
  out["upkeep"] = upkeep(snapshot.upkeep, offset);
  return out.dump(-1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace brimwatch
