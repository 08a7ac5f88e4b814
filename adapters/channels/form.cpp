#include "adapters/channels/form.h"

#include <algorithm>
#include <array>

#include "adapters/channels/crypto.h"
#include "core/price.h"
#include "core/text/json.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr std::array<std::string_view, 14> kFormNames{"title",  "text",    "id",        "symbol", "kind",
                                                      "price",  "pivot",   "range_top", "time",   "note",
                                                      "urgent", "channel", "picture",   "secret"};

bool is_known(std::string_view name) { return std::find(kFormNames.begin(), kFormNames.end(), name) != kFormNames.end(); }
/// What JSON writes without quotes.
bool is_bare(std::string_view name) {
  return name == "price" || name == "pivot" || name == "range_top" || name == "urgent";
}

/// The name of "{name}..." at the start; empty where it is none, known or not.
std::string_view name_at(std::string_view text) {
  const std::size_t end = text.find_first_not_of("abcdefghijklmnopqrstuvwxyz_", 1);
  return text.size() > 2 && text.front() == '{' && end != std::string_view::npos && end > 1 && text[end] == '}'
             ? text.substr(1, end - 1)
             : std::string_view();
}

std::string quoted_inside(std::string_view value) {
  std::string out;
  append_json_string(out, value);
  return out.substr(1, out.size() - 2);
}

std::string percent_encoded(std::string_view value) {
  std::string out;
  for (const char c : value) {
    const bool stays = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' ||
                       c == '.' || c == '_' || c == '~';
    if (stays) {
      out += c;
      continue;
    }
    const auto byte = static_cast<unsigned char>(c);
    out.append(1, '%').append(1, "0123456789ABCDEF"[byte >> 4]).append(1, "0123456789ABCDEF"[byte & 15]);
  }
  return out;
}

std::string one_level(std::string_view value) {
  std::string out = clean_line(value, 100);
  std::replace_if(
      out.begin(), out.end(), [](char c) { return c == '/' || c == '+' || c == '#' || c == '$'; }, '_');
  return out.empty() ? "none" : out;
}

std::string whole_json(std::string_view name, std::string_view value) {
  if (is_bare(name)) return std::string(value.empty() ? "null" : value);
  std::string out;
  append_json_string(out, value);
  return out;
}

std::string written(std::string_view name, std::string_view value, Written how, bool in_quotes) {
  switch (how) {
    case Written::plain:
      return std::string(value);
    case Written::json:
      return in_quotes ? quoted_inside(value) : whole_json(name, value);
    case Written::url:
      return percent_encoded(value);
    case Written::header:
      return clean_line(value, 4000);
    case Written::topic:
      return one_level(value);
  }
  return {};
}

std::string price_or_nothing(Price price) { return price.is_set() ? to_string(price) : std::string(); }

}  // namespace

FormValues form_values(const Message& message, std::string_view channel) {
  FormValues values{
      {"title", message.title},
      {"text", message.text},
      {"id", message.id},
      {"channel", std::string(channel)},
      {"picture", base64({reinterpret_cast<const char*>(message.picture_png.data()), message.picture_png.size()})}};
  if (message.notices.empty()) return values;
  const NoticeRecord& first = message.notices.front();
  values["symbol"] = first.symbol;
  values["kind"] = message.notices.size() == 1 ? std::string(to_string(first.notice.kind)) : "digest";
  values["price"] = price_or_nothing(first.notice.price);
  values["pivot"] = price_or_nothing(first.notice.pivot);
  values["range_top"] = price_or_nothing(first.notice.range_top);
  values["time"] = to_rfc3339(first.notice.time, first.offset);
  values["note"] = first.note;
  values["urgent"] = is_urgent(first.notice.kind) ? "true" : "false";
  return values;
}

std::string filled(std::string_view form, const FormValues& values, Written how) {
  std::string out;
  bool in_quotes = false;
  for (std::size_t at = 0; at < form.size();) {
    if (const std::string_view name = name_at(form.substr(at)); is_known(name)) {
      const auto found = values.find(name);
      out += written(name, found == values.end() ? "" : found->second, how, in_quotes);
      at += name.size() + 2;
      continue;
    }
    if (form[at] == '"') in_quotes = !in_quotes;
    if (form[at] == '\\' && in_quotes && at + 1 < form.size()) out += form[at++];
    out += form[at++];
  }
  return out;
}

bool is_json_form(std::string_view form) {
  const std::string sample = filled(form, {{"price", "1"}}, Written::json);
  const std::size_t start = sample.find_first_not_of(" \t\r\n");
  return start != std::string::npos && (sample[start] == '{' || sample[start] == '[') && Json::accept(sample);
}

Status check_form_names(std::string_view key, std::string_view form, bool secret_too) {
  for (std::size_t at = form.find('{'); at != std::string_view::npos; at = form.find('{', at + 1)) {
    const std::string_view name = name_at(form.substr(at));
    if (name.empty() || (is_known(name) && (secret_too || name != "secret"))) continue;
    std::string all;
    for (const std::string_view one : kFormNames)
      if (secret_too || one != "secret") all.append(all.empty() ? "{" : ", {").append(one).append("}");
    return fail(std::string(key) + ": found {" + std::string(name) + "}, expected one of " + all);
  }
  return {};
}

}  // namespace brimwatch
