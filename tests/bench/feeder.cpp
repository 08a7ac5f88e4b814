// A feed on standard output, for scripts/latency: `brimwatch_feeder RATE SECONDS SYMBOLS LOG`. Every millisecond it
// writes its share of RATE trades as lines of JSON; at even intervals one symbol after the other, S00000 first, trades
// above 60.00 for the first time. LOG gets "crossed SYMBOL NANOSECONDS" (CLOCK_MONOTONIC, before the write that holds the
// trade), and at the end how late the writes were against their plan: a reader that does not read holds the writer up
// once the pipe is full, which at 250,000 trades a second takes three milliseconds.
#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <string>
#include <vector>

namespace {

using Nanos = std::int64_t;
constexpr Nanos kMilli = 1'000'000;

Nanos now() {
  timespec time{};
  clock_gettime(CLOCK_MONOTONIC, &time);
  return time.tv_sec * 1'000'000'000LL + time.tv_nsec;
}

void wait_until(Nanos when) {
  const timespec time{when / 1'000'000'000, when % 1'000'000'000};
  clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &time, nullptr);
}

/// From 10:00:00 in New York on 2026-11-25, a regular session.
void add_trade(std::string& out, Nanos since_start, unsigned symbol, const char* price) {
  char line[128];
  const auto micros = since_start / 1000;
  const int size =
      std::snprintf(line, sizeof line,
                    "{\"time\":\"2026-11-25T10:%02d:%02d.%06d-05:00\",\"symbol\":\"S%05u\",\"price\":%s,\"size\":100}\n",
                    static_cast<int>(micros / 60'000'000), static_cast<int>(micros / 1'000'000 % 60),
                    static_cast<int>(micros % 1'000'000), symbol, price);
  out.append(line, static_cast<std::size_t>(size));
}

bool write_all(const std::string& text) {
  for (std::size_t done = 0; done < text.size();) {
    const ssize_t wrote = ::write(STDOUT_FILENO, text.data() + done, text.size() - done);
    if (wrote <= 0) return false;
    done += static_cast<std::size_t>(wrote);
  }
  return true;
}

}  // namespace

int main(int count, char** words) {
  if (count != 5) {
    std::fprintf(stderr, "usage: %s RATE SECONDS SYMBOLS LOG\n", words[0]);
    return 2;
  }
  const int rate = std::atoi(words[1]), millis = std::atoi(words[2]) * 1000;
  const auto symbols = static_cast<unsigned>(std::atoi(words[3]));
  std::FILE* log = std::fopen(words[4], "w");
  if (log == nullptr || rate < 1000 || symbols == 0) return 2;

  std::vector<bool> crossed(symbols);
  std::vector<Nanos> late;
  std::string text;
  unsigned next = 0, trade = 0;
  for (unsigned s = 0; s < symbols; ++s) add_trade(text, 0, s, "59.50");  // their day begins
  if (!write_all(text)) return 1;
  const Nanos started = now() + 500 * kMilli;
  for (int milli = 0; milli < millis; ++milli) {
    text.clear();
    const Nanos due = started + milli * kMilli;
    for (int i = 1; i < rate / 1000; ++i, trade = (trade + 1) % symbols)
      add_trade(text, due - started, trade, crossed[trade] ? "60.10" : "59.50");
    const bool one_crosses = static_cast<std::int64_t>(milli) * symbols / millis >= next && next < symbols;
    if (one_crosses) {
      crossed[next] = true;
      add_trade(text, due - started, next, "60.10");
    }
    wait_until(due);
    const Nanos before = now();
    if (!write_all(text)) break;
    late.push_back(now() - due);
    if (one_crosses) std::fprintf(log, "crossed S%05u %lld\n", next++, static_cast<long long>(before));
  }
  std::sort(late.begin(), late.end());
  const auto at = [&](double share) {
    return static_cast<double>(late[static_cast<std::size_t>(share * static_cast<double>(late.size() - 1))]) / 1e6;
  };
  const double seconds = static_cast<double>(now() - started) / 1e9;
  std::fprintf(log, "late %.3f %.3f %.3f %.3f\nrate %.0f\n", at(0.5), at(0.99), at(0.999), at(1),
               static_cast<double>(late.size()) * (rate / 1000) / seconds);
  std::fclose(log);
  for (;;) pause();  // the end of the feed is not part of it
}
