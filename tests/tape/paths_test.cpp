// The fast path and the plain path on the same tapes: same ticks, same refusals, same messages.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>

#include "tape/reader.h"
#include "tape/separators.h"
#include "ticks.h"

namespace brimwatch {
namespace {

class RandomTape {
 public:
  explicit RandomTape(std::uint32_t seed) : random_(seed) {}

  std::string make(std::size_t rows) {
    std::vector<std::string> names{"time", "symbol", "price", "size", "conditions"};
    for (const char* more :
         {"exchange", "id", "kind", "day_volume", "bid", "ask", "bid_size", "ask_size", "status", "received", "note"}) {
      if (one_in(3)) names.emplace_back(more);
    }
    std::shuffle(names.begin(), names.end(), random_);
    crlf_ = one_in(3);
    zone_ = pick({"Z", "z", "-05:00", "+09:30"});
    digits_ = below(12);
    std::string text;
    for (const std::string& name : names) text += (text.empty() ? "" : ",") + name;
    text += end();
    for (std::size_t i = 0; i < rows; ++i) row(text, names);
    return text;
  }

 private:
  std::size_t below(std::size_t n) { return random_() % n; }
  bool one_in(std::size_t n) { return below(n) == 0; }
  std::string pick(std::initializer_list<const char*> words) { return *(words.begin() + below(words.size())); }
  std::string end() { return crlf_ != one_in(50) ? "\r\n" : "\n"; }

  void row(std::string& text, const std::vector<std::string>& names) {
    std::string line;
    for (const std::string& name : names) line += (&name == names.data() ? "" : ",") + quoted(value(name));
    if (one_in(60)) spoil(line);
    text += line + end();
    if (one_in(80)) text += end();
  }

  std::string quoted(const std::string& value) { return one_in(100) ? "\"" + value + "\"" : value; }

  void spoil(std::string& line) {
    const char bytes[] = {',', '"', '\n', '\r', '\0', ' ', 'x', '.', '-', '\x7F', '\xC3'};
    if (line.empty()) return;
    if (one_in(2)) line.insert(line.begin() + static_cast<long>(below(line.size())), bytes[below(sizeof bytes)]);
    else line[below(line.size())] = bytes[below(sizeof bytes)];
  }

  std::string number() {
    if (one_in(40))
      return pick({"", ".", "5.", ".5", "-1", "0", "0.0", "00012.50", "1.2.3", "1e5", "+1", " 1", "1 ",
                   "9999999999999999999", "0.0000001"});
    std::string text = std::to_string(random_() % (one_in(4) ? 1'000'000'000 : 1000));
    if (!one_in(4)) text += "." + std::to_string(random_() % (one_in(4) ? 100'000'000 : 100));
    return text;
  }

  std::string time() {
    if (one_in(60))
      return pick({"", "2026-11-25", "2026-11-25T10:42:60Z", "2026-11-25 10:42:07Z", "2026-11-25t10:42:07.5z",
                   "2026-11-25T24:00:00Z", "2026-11-25T10:42:07.Z", "2026-11-25T10:42:07,5Z", "2026-11-25T10:4a:07Z",
                   "2026-11-25T10:42:7Z", "x"});
    const auto two = [&](std::size_t n) { return (n < 10 ? "0" : "") + std::to_string(n); };
    minute_ += one_in(20);
    std::string text =
        "2026-11-25T" + two(9 + minute_ / 60 % 10) + ":" + two(minute_ % 60) + ":" + two(below(one_in(30) ? 62 : 60));
    const std::size_t digits = one_in(30) ? below(12) : digits_;
    for (std::size_t i = 0; i < digits; ++i) text += (i == 0 ? "." : "") + std::to_string(below(10));
    return text + (one_in(30) ? pick({"Z", "-05:00", "+00:00", ""}) : zone_);
  }

  std::string value(const std::string& name) {
    if (name == "time") return time();
    if (name == "received") return one_in(3) ? "" : time();
    if (name == "symbol")
      return one_in(30) ? pick({"", " X", "A B", "TWELVELETTERS", "EXACTLY8", "ÄÖ", "A_SYMBOL_OF_MORE_THAN_THIRTY_TWO_"})
                        : "S" + std::to_string(below(50));
    if (name == "conditions")
      return pick({"", "", "I", "FI", "@", "@ TI", "    ", "@F I", "12345678", "123456789", "1 2 3 4 5 6 7 8 9"});
    if (name == "exchange") return one_in(40) ? pick({"QQ", " ", "\x01"}) : pick({"", "Q", "P", "7"});
    if (name == "id") return pick({"", "1", "12345678", "123456789012", "a-7", "99999999999999999999"});
    if (name == "kind")
      return one_in(8) ? pick({"quote", "cancel", "correct", "status", "bar", "day", "hole", "Trade"})
                       : pick({"", "trade"});
    if (name == "status") return one_in(8) ? pick({"halted", "trading", "nonsense"}) : "";
    if (name == "note") return pick({"", "some words", "x"});
    return name == "price" || name == "size" || one_in(2) ? number() : "";
  }

  std::mt19937 random_;
  bool crlf_ = false;
  std::string zone_;
  std::size_t digits_ = 0, minute_ = 0;
};

struct Outcome {
  std::vector<Tick> ticks;
  std::vector<std::string> names;
  TapeStats stats;
};

Outcome read(const std::string& text, bool plain_path) {
  TapeOptions options;
  options.plain_path = plain_path;
  options.most_bad_share = 1;
  options.most_told = 1000;
  options.from = parse_rfc3339("2026-11-25T09:02:00-05:00");
  SymbolTable symbols;
  OpenedBytes bytes;
  bytes.bytes = memory_bytes(text);
  bytes.name = "t.csv";
  Outcome out;
  auto reader = TapeReader::open(std::move(bytes), symbols, options);
  EXPECT_TRUE(reader) << reader.error().text;
  for (;;) {
    const auto batch = (*reader)->next();
    if (!batch || batch->empty()) break;
    out.ticks.insert(out.ticks.end(), batch->begin(), batch->end());
  }
  for (SymbolId id = 0; id < symbols.size(); ++id) out.names.emplace_back(symbols.name(id));
  out.stats = (*reader)->stats();
  return out;
}

TEST(Paths, FastAndPlainReadTheSameOnRandomTapes) {
  std::uint64_t ticks = 0, malformed = 0;
  for (std::uint32_t seed = 1; seed <= 400; ++seed) {
    const std::string text = RandomTape(seed).make(seed % 40 == 0 ? 6000 : 150);
    const Outcome fast = read(text, false), plain = read(text, true);
    ASSERT_EQ(fast.ticks.size(), plain.ticks.size()) << seed;
    for (std::size_t i = 0; i < fast.ticks.size(); ++i)
      ASSERT_TRUE(same(fast.ticks[i], plain.ticks[i])) << seed << " tick " << i << "\n"
                                                       << shown(fast.ticks[i]) << "\n"
                                                       << shown(plain.ticks[i]);
    ASSERT_EQ(fast.names, plain.names) << seed;
    ASSERT_EQ(fast.stats.told, plain.stats.told) << seed;
    ASSERT_EQ(fast.stats.malformed, plain.stats.malformed) << seed;
    ASSERT_EQ(fast.stats.outside, plain.stats.outside) << seed;
    ASSERT_EQ(fast.stats.cut_conditions, plain.stats.cut_conditions) << seed;
    ASSERT_EQ(fast.stats.blank_lines, plain.stats.blank_lines) << seed;
    ASSERT_EQ(fast.stats.rows, plain.stats.rows) << seed;
    ticks += fast.ticks.size();
    malformed += fast.stats.malformed;
  }
  EXPECT_GT(ticks, 20'000u);  // the tapes are worth comparing on: many rows of both kinds
  EXPECT_GT(malformed, 10'000u);
}

TEST(Separators, EveryWayFindsTheSame) {
  std::mt19937 random(7);
  for (int round = 0; round < 300; ++round) {
    const std::size_t size = random() % 700;
    std::string text(size + 64, ',');  // what lies behind the text must not be found
    for (std::size_t i = 0; i < size; ++i) text[i] = round % 3 == 0 ? ',' : ",\n\"ab5\xAC\x0A"[random() % 8];
    std::vector<std::uint32_t> wanted;
    for (std::size_t i = 0; i < size; ++i) {
      if (text[i] == ',' || text[i] == '\n' || text[i] == '"') wanted.push_back(static_cast<std::uint32_t>(i));
    }
    const auto check = [&](FindSeparators find) {
      std::vector<std::uint32_t> places(size + 64);
      places.resize(find(text.data(), size, places.data()));
      EXPECT_EQ(places, wanted) << round;
    };
    check(find_separators_portable);
    check(best_find_separators());
#if defined(__x86_64__)
    check(find_separators_sse2);
    if (has_avx2()) check(find_separators_avx2);
#endif
  }
}

}  // namespace
}  // namespace brimwatch
