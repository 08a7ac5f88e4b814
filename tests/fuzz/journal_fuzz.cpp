// A journal file of any bytes: opened, read and written to without a crash; a row that is read is one whose sum fits. The
// first byte chooses: the bytes are a whole file; or they are laid over a sound journal, or over its log; or they are the
// body of a state and its layout.
#include <unistd.h>

#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <string>
#include <string_view>

#include "journal/journal.h"
#include "journal/state_body.h"
#include "tests/support/whole_file.h"

namespace {

using namespace brimwatch;

const std::string& folder() {
  static const std::string path = [] {
    std::string form = ::access("/dev/shm", W_OK) == 0 ? "/dev/shm/journal_fuzz_XXXXXX" : "/tmp/journal_fuzz_XXXXXX";
    return std::string(::mkdtemp(form.data()));
  }();
  static const int at_exit = std::atexit([] {
    for (const char* name : {"/j", "/j-wal", "/j-shm", "/j-journal", "/sound", "/sound-wal", "/sound-shm"}) {
      std::remove((folder() + name).c_str());
    }
    ::rmdir(folder().c_str());
  });
  (void)at_exit;
  return path;
}

void put(const std::string& name, std::string_view bytes) {
  std::ofstream(folder() + name, std::ios::binary | std::ios::trunc) << bytes;
}

struct Sound {
  std::string file, log;  ///< of a program that was killed
  std::string whole;      ///< of one that ended well
};

JournalBatch batch_of(int number) {
  JournalBatch batch;
  NoticeRecord record;
  record.notice.count = static_cast<std::uint16_t>(number);
  record.notice.day = Date::of(2026, 11, 25);
  record.symbol = "KLVN";
  record.id = notice_id(record.notice.day, record.symbol, Price{1'000'000}, NoticeKind::crossed, number);
  record.text = "text";
  batch.notices.push_back(record);
  WatchState watch;
  watch.symbol = "KLVN", watch.day = record.notice.day;
  batch.watches.push_back(watch);
  SymbolState symbol;
  symbol.symbol = "KLVN", symbol.day = record.notice.day;
  batch.symbols.push_back(symbol);
  return batch;
}

const Sound& sound() {
  static const Sound made = [] {
    auto journal = Journal::open(folder() + "/sound");
    if (!journal) std::abort();
    for (int i = 1; i <= 3; ++i) {
      if (!(*journal)->commit(batch_of(i), to_all({"mail"}), nullptr)) std::abort();
    }
    Sound all{test::whole_file(folder() + "/sound"), test::whole_file(folder() + "/sound-wal"), {}};
    journal->reset();
    all.whole = test::whole_file(folder() + "/sound");
    return all;
  }();
  return made;
}

/// Two bytes say where (in steps of the file's length over 65536), the rest is written there.
std::string laid_over(std::string base, std::string_view bytes) {
  if (bytes.size() < 3 || base.empty()) return base;
  const auto at =
      (static_cast<unsigned char>(bytes[0]) * 256U + static_cast<unsigned char>(bytes[1])) * base.size() / 65536;
  bytes = bytes.substr(2, base.size() - at);
  return base.replace(at, bytes.size(), bytes);
}

void read_all(Journal& journal) {
  (void)journal.each_notice({}, [](const NoticeRecord& record) {
    if (record.id.empty() || record.symbol != "KLVN" || record.text != "text")
      std::abort();  // its sum cannot have fitted
    return true;
  });
  (void)journal.open_deliveries();
  (void)journal.watch_states({});
  (void)journal.symbol_states(Date::of(2026, 11, 26));
  (void)journal.days("KLVN", Date::of(2027, 1, 1), 10);
  (void)journal.holes({}, Timestamp{1LL << 62});
  (void)journal.acknowledgements(0);
}

void use(std::string_view file, std::string_view log) {
  for (const char* name : {"/j-shm", "/j-journal", "/j-wal"}) std::remove((folder() + name).c_str());
  put("/j", file);
  if (!log.empty()) put("/j-wal", log);
  if (auto reader = Journal::open_read_only(folder() + "/j")) read_all(**reader);
  auto writer = Journal::open(folder() + "/j", {.busy_timeout_ms = 0});
  if (!writer) return;
  read_all(**writer);
  (void)(*writer)->commit(batch_of(4), to_all({"mail"}), nullptr);
}

void read_as_state(std::string_view bytes) {
  const auto cut = bytes.find('\n');
  const auto layout = fields_of(bytes.substr(0, cut));
  const std::string_view body = cut == std::string_view::npos ? std::string_view() : bytes.substr(cut + 1);
  WatchMemory watch;
  SymbolMemory symbol;
  (void)read_body(layout, body, watch);
  (void)read_body(layout, body, symbol);
  (void)read_body(fields_of(layout_of<WatchMemory>()), bytes, watch);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const std::string_view bytes(reinterpret_cast<const char*>(data) + 1, size - 1);
  switch (data[0] % 4) {
    case 0:
      use(bytes, {});
      break;
    case 1:
      use(laid_over(sound().file, bytes), sound().log);
      break;
    case 2:
      use(sound().file, laid_over(sound().log, bytes));
      break;
    default:
      read_as_state(bytes);
  }
  return 0;
}
