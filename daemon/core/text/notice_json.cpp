#include "core/text/notice_json.h"

#include <charconv>
#include <cmath>
#include <string_view>
#include <utility>

#include "core/text/text.h"

namespace brimwatch {
namespace {

/// Writes "key":value pairs in the order of the calls.
class Object {
 public:
  void text(std::string_view key, std::string_view value) {
    name(key);
    append_json_string(out_, value);
  }
  void price(std::string_view key, Price value) { raw(key, value.is_set() ? to_string(value) : "null"); }
  void shares(std::string_view key, Shares value, bool known) { raw(key, known ? to_string(value) : "null"); }
  void number(std::string_view key, double value, int decimals, bool known) {
    if (!known || !std::isfinite(value)) return raw(key, "null");
    char digits[400];  // the largest double has 309 digits before the point
    const auto end = std::to_chars(digits, digits + sizeof digits, value, std::chars_format::fixed, decimals).ptr;
    raw(key, std::string_view(digits, static_cast<std::size_t>(end - digits)));
  }
  void flag(std::string_view key) { raw(key, "true"); }
  [[nodiscard]] std::string done() && { return std::move(out_) + "}"; }

 private:
  void raw(std::string_view key, std::string_view value) {
    name(key);
    out_ += value;
  }
  void name(std::string_view key) {
    out_ += out_.empty() ? "{\"" : ",\"";
    out_.append(key).append("\":");
  }

  std::string out_;
};

void put_volume(Object& object, const VolumeView& volume) {
  const bool projected = volume.projected > 0 && volume.normal.micros > 0;
  const bool judged = volume.weight != Weight::unknown;
  object.shares("volume", volume.so_far, true);
  object.shares("normal_volume", volume.normal, volume.normal.micros > 0);
  object.number("projected_volume", volume.projected, 0, volume.projected > 0);
  object.number("projected_low", volume.low, 0, volume.projected > 0);
  object.number("projected_high", volume.high, 0, volume.projected > 0);
  object.number("projected_surge", volume.surge, 1, projected);
  object.number("needed_surge", volume.needed, 1, true);
  object.number("odds", volume.odds, 4, judged);
}

}  // namespace

std::string to_json(const NoticeRecord& record, std::chrono::seconds offset) {
  const Notice& notice = record.notice;
  Object object;
  object.text("id", record.id);
  object.text("time", to_rfc3339(notice.time, offset));
  object.text("day", to_string(notice.day));
  object.text("symbol", record.symbol);
  object.text("kind", to_string(notice.kind));
  object.price("pivot", notice.pivot);
  object.price("range_top", notice.range_top);
  object.price("loss_limit", notice.loss_limit);
  object.price("price", notice.price);
  object.price("price_before", notice.price_before);
  object.text("side", to_string(notice.side));
  put_volume(object, notice.volume);
  object.text("weight", to_string(notice.volume.weight));
  object.text("trend", to_string(notice.trend));
  object.number("age_seconds", static_cast<double>(notice.age) / 1e9, 3, notice.age != -1);
  if (notice.volume.feed_ratio != 1) object.number("feed_ratio", notice.volume.feed_ratio, 4, true);
  if (notice.held) object.flag("held");
  if (notice.muted) object.flag("muted");
  if (notice.bought.is_set()) object.price("bought", notice.bought);
  if (notice.doubtful) object.flag("doubtful");
  if (notice.last_today) object.flag("last_today");
  object.text("title", record.title);
  object.text("text", record.text);
  object.text("note", record.note);
  return std::move(object).done();
}

}  // namespace brimwatch
