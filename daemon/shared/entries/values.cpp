#include "shared/entries/values.h"

#include "shared/entries/json_row.h"

namespace brimwatch {
namespace {

Json versioned(int format) { return Json{{"v", format}}; }

/// Parses, looks at the version and takes what is wanted; whatever does not fit is one line.
template <typename T, typename Take>
Result<T> read_shared_value(std::string_view value, const char* what, int reads, Take take) {
  const Json all = Json::parse(value, nullptr, false);
  if (!all.is_object()) return fail(std::string(what) + " in the shared log: found no JSON object");
  const auto version = all.find("v");
  if (version == all.end() || !version->is_number_integer())
    return fail(std::string(what) + " in the shared log: found no version");
  if (*version > reads)
    return fail(std::string(what) + " in the shared log: found version " + version->dump() +
                ", this program reads up to " + std::to_string(reads) + "; update it");
  try {
    T out;
    take(all, out);
    return out;
  } catch (const std::exception&) {
    return fail(std::string(what) + " in the shared log: found another form than that of version " + version->dump());
  }
}

Json json_of_mark(const SharedMark& mark) { return {{"by", mark.by}, {"token", mark.token}}; }
void take_mark(const Json& all, SharedMark& mark) {
  mark.by = all.at("mark").at("by").get<std::string>();
  mark.token = all.at("mark").at("token").get<std::int64_t>();
}

}  // namespace

std::string to_value(const SharedNotice& notice, int format) {
  Json all = versioned(format), row = Json::array(), crossing = Json::array();
  JsonRowWriter columns(row), place(crossing);
  notice_columns(columns, notice.record);
  crossing_columns(place, notice.record.notice.volume);
  all["mark"] = json_of_mark(notice.mark), all["row"] = std::move(row), all["crossing"] = std::move(crossing);
  if (notice.watch) all["watch"] = json_state::fields_of(*notice.watch);
  return json_text(all);
}

Result<SharedNotice> notice_from(std::string_view value, int reads) {
  return read_shared_value<SharedNotice>(value, "a notice", reads, [](const Json& all, SharedNotice& out) {
    take_mark(all, out.mark);
    JsonRowReader columns(all.at("row")), place(all.at("crossing"));
    notice_columns(columns, out.record);
    columns.end();
    crossing_columns(place, out.record.notice.volume);
    place.end();
    if (const auto watch = all.find("watch"); watch != all.end()) {
      out.watch.emplace();
      out.watch->symbol = out.record.symbol, out.watch->pivot = out.record.notice.pivot;
      json_state::take_fields(*watch, *out.watch);
    }
  });
}

std::string to_value(const SharedDelivery& delivery) {
  Json all = versioned(1), row = Json::array();
  JsonRowWriter columns(row);
  delivery_columns(columns, delivery.row);
  all["notice"] = delivery.row.notice_id, all["mark"] = json_of_mark(delivery.mark), all["row"] = std::move(row);
  return json_text(all);
}

Result<SharedDelivery> delivery_from(std::string_view value, int reads) {
  return read_shared_value<SharedDelivery>(value, "a delivery", reads, [](const Json& all, SharedDelivery& out) {
    take_mark(all, out.mark);
    out.row.notice_id = all.at("notice").get<std::string>();
    JsonRowReader columns(all.at("row"));
    delivery_columns(columns, out.row);
    columns.end();
  });
}

std::string to_value(const SharedAcknowledgement& one) {
  Json all = versioned(1);
  all["notice"] = one.notice_id, all["by"] = one.by, all["at"] = one.at.ns;
  return all.dump();
}

Result<SharedAcknowledgement> acknowledgement_from(std::string_view value, int reads) {
  return read_shared_value<SharedAcknowledgement>(
      value, "an acknowledgement", reads, [](const Json& all, SharedAcknowledgement& out) {
        out.notice_id = all.at("notice").get<std::string>(), out.by = all.at("by").get<std::string>();
        out.at.ns = all.at("at").get<std::int64_t>();
      });
}

std::string to_value(const SharedAnswer& one) {
  Json all = versioned(1), row = Json::array();
  JsonRowWriter columns(row);
  answer_columns(columns, one.answer);
  all["by"] = one.by, all["row"] = std::move(row);
  return json_text(all);
}

Result<SharedAnswer> shared_answer_from(std::string_view value, int reads) {
  return read_shared_value<SharedAnswer>(value, "an answer", reads, [](const Json& all, SharedAnswer& out) {
    out.by = all.at("by").get<std::string>();
    JsonRowReader columns(all.at("row"));
    answer_columns(columns, out.answer);
    columns.end();
  });
}

std::string to_value(const SharedSpeaker& speaker) {
  Json all = versioned(1);
  all["name"] = speaker.name, all["since"] = speaker.since.ns, all["how"] = speaker.how;
  if (speaker.unheard > 0) all["unheard"] = speaker.unheard;
  return all.dump();
}

Result<SharedSpeaker> speaker_from(std::string_view value, int reads) {
  return read_shared_value<SharedSpeaker>(value, "the speaker", reads, [](const Json& all, SharedSpeaker& out) {
    out.name = all.at("name").get<std::string>(), out.since.ns = all.at("since").get<std::int64_t>();
    out.how = all.at("how").get<std::string>();
    out.unheard = all.value("unheard", Nanos{0});
  });
}

std::string to_value(const SharedMember& member) {
  Json all = versioned(1);
  all["name"] = member.name, all["version"] = member.version, all["reads"] = member.reads, all["feed"] = member.feed;
  all["list"] = member.list, all["watches"] = member.watches, all["well"] = member.well;
  all["trouble"] = member.trouble, all["clock"] = member.clock.ns;
  if (!member.direct.empty()) all["direct"] = member.direct;
  if (!member.rules.empty()) all["rules"] = member.rules;
  return json_text(all);
}

Result<SharedMember> member_from(std::string_view value, int reads) {
  return read_shared_value<SharedMember>(value, "a member", reads, [](const Json& all, SharedMember& out) {
    out.name = all.at("name").get<std::string>(), out.version = all.at("version").get<std::string>();
    out.reads = all.at("reads").get<int>(), out.feed = all.at("feed").get<std::string>();
    out.list = all.at("list").get<std::string>(), out.watches = all.at("watches").get<std::uint64_t>();
    out.well = all.at("well").get<bool>(), out.trouble = all.at("trouble").get<std::string>();
    out.clock.ns = all.at("clock").get<std::int64_t>(), out.direct = all.value("direct", std::string());
    out.rules = all.value("rules", std::string());
  });
}

std::string to_value(const WatchState& state) {
  Json all = versioned(1);
  all["symbol"] = state.symbol, all["pivot"] = state.pivot.micros, all["state"] = json_state::fields_of(state);
  return all.dump();
}

Result<WatchState> watch_from(std::string_view value, int reads) {
  return read_shared_value<WatchState>(value, "a watch", reads, [](const Json& all, WatchState& out) {
    out.symbol = all.at("symbol").get<std::string>(), out.pivot.micros = all.at("pivot").get<std::int64_t>();
    json_state::take_fields(all.at("state"), out);
  });
}

std::string to_value(const SymbolState& state) {
  Json all = versioned(1);
  all["symbol"] = state.symbol, all["state"] = json_state::fields_of(state);
  return all.dump();
}

Result<SymbolState> symbol_from(std::string_view value, int reads) {
  return read_shared_value<SymbolState>(value, "a stock's day", reads, [](const Json& all, SymbolState& out) {
    out.symbol = all.at("symbol").get<std::string>();
    json_state::take_fields(all.at("state"), out);
  });
}

}  // namespace brimwatch
