#include "app/snapshot_json.h"

#include <cmath>

#include "core/text/json.h"
#include "core/text/notice_json.h"

namespace brimwatch {
namespace {

OrderedJson price(Price value) { return value.is_set() ? OrderedJson(value.as_double()) : OrderedJson(nullptr); }
OrderedJson rounded(double value, double unit) { return std::round(value / unit) * unit; }

OrderedJson volume(const VolumeView& view) {
  OrderedJson out;
  out["so_far"] = view.so_far.as_double();
  const bool judged = view.why_not == NoJudgement::none;
  out["normal"] = view.normal.micros > 0 ? OrderedJson(view.normal.as_double()) : OrderedJson(nullptr);
  out["projected"] = judged ? OrderedJson(std::round(view.projected)) : OrderedJson(nullptr);
  out["low"] = judged ? OrderedJson(std::round(view.low)) : OrderedJson(nullptr);
  out["high"] = judged ? OrderedJson(std::round(view.high)) : OrderedJson(nullptr);
  out["surge"] = judged ? rounded(view.surge, 0.1) : OrderedJson(nullptr);
  out["needed"] = view.needed;
  out["odds"] = judged ? rounded(view.odds, 0.0001) : OrderedJson(nullptr);
  out["weight"] = to_string(view.weight);
  return out;
}

OrderedJson watch(const WatchRow& row, std::chrono::seconds offset) {
  OrderedJson out;
  out["symbol"] = row.symbol;
  out["pivot"] = price(row.pivot);
  out["range_top"] = price(row.range_top);
  out["loss_limit"] = price(row.loss_limit);
  out["last"] = price(row.last);
  out["last_close"] = price(row.last_close);
  out["day_high"] = price(row.day_high);
  out["distance"] =
      row.last.is_set() ? rounded((row.last.as_double() / row.pivot.as_double() - 1) * 100, 0.01) : OrderedJson(nullptr);
  out["side"] = to_string(row.side);
  out["armed"] = row.armed;
  out["in_force"] = row.in_force;
  out["from"] = row.from ? OrderedJson(to_string(*row.from)) : OrderedJson(nullptr);
  out["until"] = row.until ? OrderedJson(to_string(*row.until)) : OrderedJson(nullptr);
  out["last_time"] = row.last_time.is_set() ? OrderedJson(to_rfc3339(row.last_time, offset)) : OrderedJson(nullptr);
  out["muted_until"] = row.muted_until.is_set() ? OrderedJson(to_rfc3339(row.muted_until, offset)) : OrderedJson(nullptr);
  out["muted_under_pivot"] = row.muted_under;
  out["added"] = row.added;
  out["bought"] = price(row.bought);
  out["shares"] = row.shares > Shares{} ? OrderedJson(row.shares.as_double()) : OrderedJson(nullptr);
  const Price now = row.last.is_set() ? row.last : row.last_close;
  out["on_bought"] = row.bought.is_set() && now.is_set()
                         ? rounded((now.as_double() / row.bought.as_double() - 1) * 100, 0.01)
                         : OrderedJson(nullptr);
  out["volume"] = volume(row.volume);
  out["history_days"] = row.history_days;
  out["history_days_heard"] = row.heard_days;
  out["history_doubts"] = row.doubts;
  out["note"] = row.note;
  out["held"] = price(row.held);
  out["mute"] = row.mute;
  out["list"] = row.list;
  out["report"] = row.report ? OrderedJson(to_string(*row.report)) : OrderedJson(nullptr);
  return out;
}

OrderedJson feed(const FeedRow& row) {
  OrderedJson recognised = OrderedJson::object();
  for (const auto& [name, count] : row.recognised) recognised[std::string(name)] = count;
  OrderedJson unknown_codes = OrderedJson::object();
  for (const auto& [code, count] : row.unknown_codes) unknown_codes[code] = count;
  return OrderedJson{{"name", row.name},
                     {"kind", row.kind},
                     {"state", row.state},
                     {"text", row.text},
                     {"carrying", row.carrying},
                     {"ticks", row.ticks},
                     {"malformed", row.malformed},
                     {"example", row.example},
                     {"unknown_codes", std::move(unknown_codes)},
                     {"reconnects", row.reconnects},
                     {"lag_seconds", row.lag_seconds < 0 ? OrderedJson(nullptr) : rounded(row.lag_seconds, 0.001)},
                     {"silent_seconds", row.silent_seconds < 0 ? OrderedJson(nullptr) : rounded(row.silent_seconds, 0.1)},
                     {"recognised", std::move(recognised)}};
}

OrderedJson channel(const ChannelRow& row) {
  return OrderedJson{{"name", row.name},       {"kind", row.kind},
                     {"state", row.state},     {"delivered", row.delivered},
                     {"retried", row.retried}, {"dead", row.dead},
                     {"expired", row.expired}, {"unknown", row.unknown},
                     {"waiting", row.waiting}, {"last_reply", row.last_reply}};
}

OrderedJson notice(const NoticeRecord& record, const Snapshot& snapshot) {
  OrderedJson out = OrderedJson::parse(brimwatch::to_json(record));
  out["deliveries"] = OrderedJson::array();
  if (const auto sent = snapshot.sent.find(record.id); sent != snapshot.sent.end()) {
    for (const SentMark& mark : sent->second)
      out["deliveries"].push_back({{"channel", mark.channel}, {"state", mark.state}, {"reply", mark.reply}});
  }
  return out;
}

OrderedJson recording(const RecordingRow& row) {
  if (!row.on) return nullptr;
  return OrderedJson{{"ticks", row.ticks},
                     {"frames", row.frames},
                     {"dropped_ticks", row.dropped_ticks},
                     {"dropped_frames", row.dropped_frames},
                     {"bytes", row.bytes},
                     {"removed_files", row.removed_files},
                     {"errors", row.errors},
                     {"trouble", row.trouble}};
}

OrderedJson configuration(const ConfigurationRow& row, std::chrono::seconds offset) {
  return OrderedJson{{"read", row.read.is_set() ? OrderedJson(to_rfc3339(row.read, offset)) : OrderedJson(nullptr)},
                     {"refused", row.refused.empty() ? OrderedJson(nullptr) : OrderedJson(row.refused)},
                     {"warnings", row.warnings}};
}

OrderedJson shared_house(const SharedRow& row, std::chrono::seconds offset) {
  if (!row.on) return nullptr;
  const auto time = [offset](Timestamp at) {
    return at.is_set() ? OrderedJson(to_rfc3339(at, offset)) : OrderedJson(nullptr);
  };
  OrderedJson out{{"name", row.name},
                  {"house", row.house},
                  {"role", row.role},
                  {"since", time(row.since)},
                  {"speaker", row.speaker},
                  {"speaks_since", time(row.speaks_since)},
                  {"trouble", row.trouble},
                  {"silent_seconds", row.silent_seconds},
                  {"answers_waiting", row.answers_waiting}};
  out["members"] = OrderedJson::array();
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
                              {"direct", one.direct.empty() ? OrderedJson(nullptr) : OrderedJson(one.direct)},
                              {"answered", one.answered.empty() ? OrderedJson(nullptr) : OrderedJson(one.answered)},
                              {"clock_off", one.clock_off ? OrderedJson(*one.clock_off) : OrderedJson(nullptr)}});
  for (const auto& [name, count] : row.counters) out["counts"][std::string(name)] = count;
  return out;
}

OrderedJson upkeep(const UpkeepRow& row, std::chrono::seconds offset) {
  return OrderedJson{
      {"started", row.started.is_set() ? OrderedJson(to_rfc3339(row.started, offset)) : OrderedJson(nullptr)},
      {"reloads", row.reloads},
      {"reloads_refused", row.reloads_refused},
      {"journal_bytes", row.journal_bytes > 0 ? OrderedJson(row.journal_bytes) : OrderedJson(nullptr)},
      {"log_lines_dropped", row.log_lines_dropped}};
}

}  // namespace

std::string to_json(const Snapshot& snapshot, std::chrono::seconds offset) {
  OrderedJson out;
  out["time"] = to_rfc3339(snapshot.time, offset);
  out["rehearsal"] = snapshot.rehearsal;
  out["version"] = snapshot.version;
  out["session"] = snapshot.session;
  out["day"] = to_string(snapshot.day);
  out["half_day"] = snapshot.half_day;
  out["open"] = snapshot.open.is_set() ? OrderedJson(to_rfc3339(snapshot.open, offset)) : OrderedJson(nullptr);
  out["close"] = snapshot.close.is_set() ? OrderedJson(to_rfc3339(snapshot.close, offset)) : OrderedJson(nullptr);
  out["next_open"] =
      snapshot.next_open.is_set() ? OrderedJson(to_rfc3339(snapshot.next_open, offset)) : OrderedJson(nullptr);
  out["trend"] = to_string(snapshot.trend);
  for (const char* list : {"watches", "feeds", "channels", "notices"}) out[list] = OrderedJson::array();
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
  out["engine"] = OrderedJson::object();
  for (const auto& [name, count] : snapshot.engine) out["engine"][std::string(name)] = count;
  out["journal_trouble"] = snapshot.journal_trouble;
  out["upkeep"] = upkeep(snapshot.upkeep, offset);
  return json_text(out);
}

}  // namespace brimwatch
