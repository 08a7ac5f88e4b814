#include "adapters/guessing/sample.h"

#include <algorithm>

#include "adapters/feeds/decoding/event_text.h"
#include "adapters/feeds/decoding/excerpt.h"
#include "adapters/feeds/decoding/lines_text.h"
#include "adapters/feeds/decoding/msgpack.h"
#include "adapters/feeds/decoding/unpack.h"
#include "core/text/json.h"

namespace brimwatch {
namespace {

constexpr std::size_t kFramesMost = 20'000, kUnpackedMost = 16U << 20;

/// Nobody sends that, and to look into it takes a level of the stack each.
bool is_too_deep(std::string_view text) {
  constexpr int kNested = 60;
  int depth = 0;
  for (const char c : text) {
    depth += (c == '[' || c == '{') - (c == ']' || c == '}');
    if (depth > kNested) return true;
  }
  return false;
}

bool is_json(std::string_view text) { return !is_too_deep(text) && OrderedJson::accept(text); }

std::vector<std::string_view> lines_of(std::string_view text) {
  std::vector<std::string_view> out;
  while (!text.empty() && out.size() < kFramesMost) {
    const std::size_t end = text.find('\n');
    std::string_view line = text.substr(0, end);
    if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
    if (line.find_first_not_of(" \t") != line.npos) out.push_back(line);
    text = end == text.npos ? std::string_view() : text.substr(end + 1);
  }
  return out;
}

bool is_event_stream(const std::vector<std::string_view>& lines) {
  const auto field = [](std::string_view line) { return line.starts_with("data:") || line.starts_with("event:"); };
  return std::any_of(lines.begin(), lines.begin() + static_cast<std::ptrdiff_t>(std::min<std::size_t>(lines.size(), 20)),
                     field);
}

Sample cut_events(std::string_view text) {
  Sample out;
  out.events = true;
  EventSplitter splitter(kUnpackedMost, [&](std::string_view event) {
    if (out.frames.size() < kFramesMost && !parse_event(event).data.empty()) out.frames.emplace_back(event);
  });
  splitter.add(text);
  splitter.add("\n\n");
  return out;
}

/// Without a clock or an arrow before the JSON. What went the other way ("> ...") is none of the source's.
std::string_view json_in(std::string_view line) {
  if (is_json(line)) return line;
  constexpr int kTried = 8;
  const std::size_t end = line.find_last_of("}]");
  std::size_t at = line.find_first_of("{[");
  for (int i = 0; i < kTried && at != line.npos && end != line.npos && at < end; ++i) {
    const std::string_view inside = line.substr(at, end + 1 - at);
    if (is_json(inside)) return inside;
    at = line.find_first_of("{[", at + 1);
  }
  return {};
}

Sample cut_document(std::string_view text) {
  Sample out;
  const OrderedJson document = OrderedJson::parse(text, nullptr, false);
  const bool list = document.is_array() && !document.empty() &&
                    std::all_of(document.begin(), document.end(), [](const OrderedJson& one) { return one.is_object(); });
  if (!list) out.frames.emplace_back(text);
  for (const OrderedJson& one : list ? document : OrderedJson::array()) out.frames.push_back(one.dump());
  return out;
}

Sample cut_lines(const std::vector<std::string_view>& lines) {
  Sample out;
  std::size_t json = 0;
  for (const std::string_view line : lines) json += !json_in(line).empty();
  for (const std::string_view line : lines) {
    const std::string_view inside = json_in(line);
    const bool sent = line.front() == '>';
    if (2 * json >= lines.size() && sent) continue;
    out.frames.emplace_back(2 * json >= lines.size() && !inside.empty() ? inside : line);
  }
  return out;
}

/// MessagePack by its specification: where the value that begins at `at` ends; npos when it is cut off. `deep` bounds the
/// nesting.
std::size_t end_of_msgpack(std::string_view bytes, std::size_t at, int deep = 0) {
  constexpr std::size_t kNone = std::string_view::npos;
  const auto number = [&](std::size_t from, std::size_t width) {
    std::size_t out = 0;
    for (std::size_t i = 0; i < width; ++i) out = out << 8 | static_cast<unsigned char>(bytes[from + i]);
    return out;
  };
  const auto values = [&](std::size_t from, std::size_t count) {
    for (std::size_t i = 0; i < count && from != kNone; ++i) from = end_of_msgpack(bytes, from, deep + 1);
    return from;
  };
  const auto plain = [&](std::size_t length) { return at + 1 + length <= bytes.size() ? at + 1 + length : kNone; };
  if (at >= bytes.size() || deep > 32) return kNone;
  const unsigned char c = static_cast<unsigned char>(bytes[at]);
  if (c < 0x80 || c >= 0xE0 || c == 0xC0 || c == 0xC2 || c == 0xC3) return at + 1;
  if (c < 0x90) return values(at + 1, std::size_t{2} * (c & 0x0FU));
  if (c < 0xA0) return values(at + 1, c & 0x0FU);
  if (c < 0xC0) return plain(c & 0x1FU);
  constexpr std::size_t kFixed[] = {4, 8, 1, 2, 4, 8, 1, 2,
                                    4, 8, 2, 3, 5, 9, 17};  // from 0xCA: floats, integers, extensions
  if (c >= 0xCA && c <= 0xD8) return plain(kFixed[c - 0xCA]);
  const bool extension = c >= 0xC7 && c <= 0xC9, array = c == 0xDC || c == 0xDD, map = c == 0xDE || c == 0xDF;
  const std::size_t width = array || map ? (c % 2 == 0 ? 2 : 4)
                            : c >= 0xD9  ? 1U << (c - 0xD9)
                            : extension  ? 1U << (c - 0xC7)
                                         : 1U << (c - 0xC4);
  if (c == 0xC1 || at + 1 + width > bytes.size()) return kNone;
  const std::size_t count = number(at + 1, width);
  if (array || map) return count > bytes.size() ? kNone : values(at + 1 + width, map ? 2 * count : count);
  const std::size_t end = at + 1 + width + count + (extension ? 1 : 0);
  return end <= bytes.size() ? end : kNone;
}

/// Values behind each other, as a program dumps what it receives; empty when it is no such dump.
std::vector<std::string> cut_msgpack(std::string_view bytes) {
  std::vector<std::string> out;
  for (std::size_t at = 0; at < bytes.size() && out.size() < kFramesMost;) {
    const std::size_t end = end_of_msgpack(bytes, at);
    std::string json;
    const bool whole = end != bytes.npos && static_cast<unsigned char>(bytes[at]) >= 0x80 &&
                       json_of_msgpack(bytes.substr(at, end - at), kUnpackedMost, json).empty();
    if (!whole) return {};
    out.emplace_back(bytes.substr(at, end - at));
    at = end;
  }
  return out;
}

/// Base64 (RFC 4648, section 4), as frames of bytes are saved in text; empty for anything else.
std::string from_base64(std::string_view text) {
  constexpr std::string_view kLetters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  if (text.size() % 4 != 0 || text.size() < 8) return {};
  std::string out;
  std::uint32_t bits = 0;
  int have = 0;
  while (text.ends_with('=')) text.remove_suffix(1);
  for (const char c : text) {
    const std::size_t value = kLetters.find(c);
    if (value == kLetters.npos) return {};
    bits = bits << 6 | static_cast<std::uint32_t>(value);
    have += 6;
    if (have >= 8) out += static_cast<char>(bits >> (have -= 8) & 0xFFU);
  }
  return out;
}

bool is_packed(const std::string& bytes) {
  std::string json;
  return !packing_of(bytes).empty() || (!bytes.empty() && static_cast<unsigned char>(bytes[0]) >= 0x80 &&
                                        json_of_msgpack(bytes, kUnpackedMost, json).empty());
}

/// Lines of base64 are what they stand for, when all of them stand for packed bytes.
std::vector<std::string> cut_base64(const std::vector<std::string_view>& lines) {
  std::vector<std::string> out;
  for (const std::string_view line : lines) {
    std::string bytes = from_base64(line);
    if (!is_packed(bytes)) return {};
    out.push_back(std::move(bytes));
  }
  return out;
}

bool is_text(std::string_view frame) {
  return std::none_of(frame.begin(), frame.end(), [](char c) {
    return static_cast<unsigned char>(c) < 0x20 && c != '\n' && c != '\t' && c != '\r' && c != '\x01';
  });
}

Packing packing_named(std::string_view name) {
  return name == "gzip"      ? Packing::gzip
         : name == "zstd"    ? Packing::zstd
         : name == "deflate" ? Packing::deflate
                             : Packing::none;
}

/// One frame as JSON, by the wrapping that is supposed.
class Opener {
 public:
  explicit Opener(const std::string& packing) : unpacker_(packing_named(packing)), packed_(packing != "none") {}

  std::string open(std::string_view frame, const std::string& encoding, std::string& problem) {
    if (packed_) frame = unpacker_.unpack(frame, kUnpackedMost);
    if (frame.data() == nullptr) return problem = unpacker_.fault(), std::string();
    std::string out;
    if (encoding == "json" || (!frame.empty() && (frame[0] == '{' || frame[0] == '['))) return std::string(frame);
    const std::string_view fault =
        encoding == "msgpack" ? json_of_msgpack(frame, 4 * kUnpackedMost, out) : json_of_lines(frame, encoding, out);
    if (!fault.empty()) problem = fault, out.clear();
    return out;
  }

 private:
  Unpacker unpacker_;
  bool packed_;
};

std::string encoding_of(const Sample& sample, Opener& opener) {
  std::size_t json = 0, msgpack = 0, tags = 0, csv = 0, looked = 0;
  for (const std::string& frame : sample.frames) {
    if (++looked > 200) break;
    std::string ignored;
    const std::string text = opener.open(frame, "json", ignored);
    json += is_json(text);
    msgpack += !is_json(text) && !opener.open(frame, "msgpack", ignored).empty() && !is_text(text);
    tags += is_text(text) && !json_of_tags(text).empty();
    csv += is_text(text) && text.find_first_of(",;|\t") != text.npos;
  }
  if (msgpack > json && msgpack >= csv) return "msgpack";
  if (2 * json >= std::min<std::size_t>(looked, 200)) return "json";
  return tags * 2 > looked ? "tags" : csv * 2 > looked ? "csv" : "json";
}

}  // namespace

bool begins_as_events(std::string_view text) {
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  const std::size_t from = text.find_first_not_of("\r\n");
  if (from == text.npos) return false;
  const std::string_view rest = text.substr(from);
  return rest.starts_with("data:") || rest.starts_with("event:") || rest.starts_with("id:") ||
         rest.starts_with("retry:") || rest.starts_with(":");
}

Sample cut_sample(std::string_view text) {
  if (auto values = cut_msgpack(text); !values.empty()) return {std::move(values), false};
  const auto lines = lines_of(text);
  if (lines.empty()) return {};
  if (auto packed = cut_base64(lines); !packed.empty()) return {std::move(packed), false};
  if (is_event_stream(lines)) return cut_events(text);
  if (json_in(lines.front()).empty() && is_json(text)) return cut_document(text);
  if (lines.size() == 1 && is_json(text)) return cut_document(text);
  return cut_lines(lines);
}

ReadSample read_sample(const Sample& sample) {
  ReadSample out;
  for (const std::string& frame : sample.frames) {
    const std::string_view packing = packing_of(frame);
    if (!packing.empty()) out.packing = packing;
  }
  Opener opener(out.packing);
  if (!sample.events) out.encoding = encoding_of(sample, opener);
  for (std::size_t i = 0; i < sample.frames.size(); ++i) {
    EventParts event;
    if (sample.events) event = parse_event(sample.frames[i]);
    std::string problem;
    const std::string text = opener.open(sample.events ? event.data : sample.frames[i], out.encoding, problem);
    OrderedJson json = is_too_deep(text) ? OrderedJson() : OrderedJson::parse(text, nullptr, false);
    if (json.is_discarded() || json.is_primitive()) {
      ++out.unreadable;
      if (out.problem.empty())
        out.problem = (problem.empty() ? "no JSON object or array" : problem) + ": " + excerpt(sample.frames[i], 80);
      continue;
    }
    out.frames.push_back({std::move(json), event.name});
    out.numbers.push_back(i);
  }
  return out;
}

}  // namespace brimwatch
