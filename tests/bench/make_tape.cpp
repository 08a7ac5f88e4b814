// Makes an invented trading day: `brimwatch_make_tape TRADES SYMBOLS TAPE.csv [WATCHES.csv [PIVOTS_PER_SYMBOL [SEED]]]`.
// The same arguments give the same bytes. Prices walk, a few symbols trade far more than most, about 45 % of the trades
// are odd lots, and one in two hundred is out of sequence or an average price, so that a reader that ignores conditions
// goes wrong.
#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <vector>

namespace {

class Random {
 public:
  explicit Random(std::uint64_t seed) : state_(seed * 2 + 1) {}
  std::uint64_t next() {  // splitmix64, from memory
    std::uint64_t z = (state_ += 0x9E3779B97F4A7C15ULL);
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
    return z ^ (z >> 31);
  }
  std::uint64_t below(std::uint64_t n) { return next() % n; }
  double unit() { return static_cast<double>(next() >> 11) * 0x1p-53; }

 private:
  std::uint64_t state_;
};

struct Stock {
  std::string name;
  std::int64_t cents, open;
  std::uint64_t volume = 0;
};

/// KAAA, KAAB ...: four to six letters, none of them a listed one's on purpose; the first letter says "made up".
std::string name_of(std::size_t index) {
  std::string name = "KAAA";
  for (std::size_t at = 3; index > 0 && at > 0; --at, index /= 26) name[at] = static_cast<char>('A' + index % 26);
  return index == 0 ? name : name + name_of(index - 1).substr(2);
}

void add(std::string& out, std::int64_t number, int width = 0) {
  char text[24];
  const auto end = std::to_chars(text, text + sizeof text, number).ptr;
  for (auto size = end - text; size < width; ++size) out += '0';
  out.append(text, end);
}

void add_price(std::string& out, std::int64_t cents) {
  add(out, cents / 100);
  out += '.';
  add(out, cents % 100, 2);
}

/// Cumulative weights 1 / (rank + 50): the busiest stock trades about a hundred times as often as the median one of
/// 8,000.
std::vector<double> weights(std::size_t symbols) {
  std::vector<double> sums;
  double sum = 0;
  for (std::size_t i = 0; i < symbols; ++i) sums.push_back(sum += 1.0 / static_cast<double>(i + 50));
  return sums;
}

class Tape {
 public:
  Tape(std::uint64_t trades, std::size_t symbols, std::uint64_t seed)
      : random_(seed), trades_(trades), sums_(weights(symbols)) {
    for (std::size_t i = 0; i < symbols; ++i) {
      const auto cents = static_cast<std::int64_t>(500 * std::exp(4 * random_.unit()));
      stocks_.push_back({name_of(i), cents, cents, 0});
    }
  }

  bool write(const char* path) {
    std::FILE* file = std::fopen(path, "wb");
    if (file == nullptr) return false;
    std::string out = "time,symbol,price,size,conditions,exchange\n";
    for (std::uint64_t i = 0; i < trades_; ++i) {
      row(out, i);
      if (out.size() > 1'000'000) {
        std::fwrite(out.data(), 1, out.size(), file);
        out.clear();
      }
    }
    std::fwrite(out.data(), 1, out.size(), file);
    return std::fclose(file) == 0;
  }

  /// Pivots from just above the open upwards, so that many are crossed; normal volume near what the day came to.
  bool write_watches(const char* path, std::int64_t pivots) {
    std::FILE* file = std::fopen(path, "wb");
    if (file == nullptr) return false;
    std::string out = "symbol,pivot,normal_volume\n";
    for (const Stock& stock : stocks_) {
      const auto usual = static_cast<std::int64_t>(static_cast<double>(stock.volume + 1) * (0.4 + random_.unit()));
      for (std::int64_t k = 0; k < pivots; ++k) {
        out += stock.name + ",";
        add_price(out, stock.open + stock.open / 200 + 1 + k * std::max<std::int64_t>(1, stock.open / 500));
        out += ",";
        add(out, usual + 1);
        out += "\n";
      }
    }
    std::fwrite(out.data(), 1, out.size(), file);
    return std::fclose(file) == 0;
  }

 private:
  void row(std::string& out, std::uint64_t index) {
    const double at = random_.unit() * sums_.back();
    Stock& stock = stocks_[static_cast<std::size_t>(std::lower_bound(sums_.begin(), sums_.end(), at) - sums_.begin())];
    time(out, index);
    const std::uint64_t dice = random_.next();
    if (dice % 4 == 0)
      stock.cents = std::max<std::int64_t>(100, stock.cents + static_cast<std::int64_t>(dice >> 8 & 1) * 2 - 1);
    const bool odd = (dice >> 16) % 100 < 45;
    const auto size =
        odd ? 1 + static_cast<std::int64_t>((dice >> 24) % 99) : 100 * (1 + static_cast<std::int64_t>((dice >> 24) % 8));
    stock.volume += static_cast<std::uint64_t>(size);
    out += stock.name;
    out += ',';
    add_price(out, stock.cents);
    out += ',';
    add(out, size);
    out += ',';
    conditions(out, dice >> 40, odd);
    out += ',';
    out += "DKNPQVZ"[(dice >> 52) % 7];
    out += '\n';
  }

  /// 09:30 to 16:00 in New York on 2026-11-25, ascending, microseconds.
  void time(std::string& out, std::uint64_t index) {
    constexpr double kSessionMicros = 6.5 * 3600e6;
    const auto micros =
        static_cast<std::int64_t>(kSessionMicros * static_cast<double>(index) / static_cast<double>(trades_));
    const std::int64_t second = 9 * 3600 + 30 * 60 + micros / 1'000'000;
    out += "2026-11-25T";
    add(out, second / 3600, 2);
    out += ':';
    add(out, second / 60 % 60, 2);
    out += ':';
    add(out, second % 60, 2);
    out += '.';
    add(out, micros % 1'000'000, 6);
    out += "-05:00,";
  }

  static void conditions(std::string& out, std::uint64_t dice, bool odd) {
    const std::uint64_t rare = dice % 400;
    if (rare == 0) out += 'Z';
    if (rare == 1) out += 'B';
    if (dice / 400 % 3 == 0) out += 'F';
    if (odd) out += 'I';
  }

  Random random_;
  std::uint64_t trades_;
  std::vector<double> sums_;
  std::vector<Stock> stocks_;
};

}  // namespace

int main(int count, char** words) {
  if (count < 4) {
    std::fprintf(stderr, "usage: %s TRADES SYMBOLS TAPE.csv [WATCHES.csv [PIVOTS_PER_SYMBOL [SEED]]]\n", words[0]);
    return 2;
  }
  const auto number = [&](int at, std::uint64_t otherwise) {
    return count > at ? std::strtoull(words[at], nullptr, 10) : otherwise;
  };
  Tape tape(number(1, 0), std::max<std::uint64_t>(1, number(2, 1)), number(6, 1));
  if (!tape.write(words[3]) || (count > 4 && !tape.write_watches(words[4], static_cast<std::int64_t>(number(5, 1))))) {
    std::perror("brimwatch_make_tape");
    return 1;
  }
  return 0;
}
