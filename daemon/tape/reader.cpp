#include "tape/reader.h"

#include <algorithm>
#include <array>
#include <cstring>
#include <limits>
#include <string_view>
#include <utility>

#include "tape/blocks.h"
#include "tape/columns.h"
#include "tape/fast_rows.h"
#include "tape/filled_ahead.h"
#include "tape/record_text.h"
#include "tape/row.h"
#include "tape/separators.h"
#include "tape/symbol_cache.h"

namespace brimwatch {
namespace {

constexpr std::size_t kSlice = 16 * 1024;    ///< text whose separators are found at a time
constexpr std::uint64_t kJudgedFrom = 1000;  ///< rows
constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";

}  // namespace

struct TapeReader::Impl {
  Impl(OpenedBytes opened, SymbolTable& table, const TapeOptions& wanted, std::shared_ptr<Helper> helper)
      : name(std::move(opened.name)), options(wanted), symbols(table) {
    // A second thread pays where there is something to unpack, and is safe where no read can wait for ever.
    const bool ahead = opened.compressed && opened.regular_file;
    run.from = options.from.value_or(Timestamp{std::numeric_limits<Nanos>::min()});
    run.to = options.to.value_or(Timestamp{std::numeric_limits<Nanos>::max()});
    if (ahead && helper == nullptr) helper = std::make_shared<Helper>();
    blocks = ahead ? blocks_ahead(std::move(opened.bytes), std::move(helper)) : blocks_of(std::move(opened.bytes));
  }

  Status header();
  Result<bool> refill();
  Result<bool> last_row();
  void take_rows();
  bool find_slice();
  void take_row();
  void take_whole_row();
  void refuse(const RowFault& fault);
  void refuse_record();
  void drop_line(const RowFault& fault);
  void unfinished_row();
  [[nodiscard]] std::size_t separators_left() const { return static_cast<std::size_t>(run.end - run.next); }
  [[nodiscard]] std::string_view rest() const { return {at, static_cast<std::size_t>(end - at)}; }
  [[nodiscard]] Status judge(std::uint64_t least_rows) const;

  std::string name;
  TapeOptions options;
  SymbolCache symbols;
  std::unique_ptr<Blocks> blocks;
  Layout layout;
  TapeStats stats;

  // The window: text not read yet. `stuck` when it holds no whole row any more.
  const char* at = nullptr;
  const char* end = nullptr;
  bool stuck = true, ended = false, at_last_row = false, skipping_line = false;
  std::string carry;
  std::uint64_t line = 1;  ///< of the row at `at`

  // The separators of a slice of the text; those before run.next are behind `at`.
  std::optional<FastRows> fast;
  RowRun run;
  FindSeparators find_separators = best_find_separators();
  std::array<std::uint32_t, kSlice + kSlack> places;

  RecordText record;
  std::array<Tick, kBatch> batch;  ///< for a caller without room of its own
  std::span<Tick> room;
  std::size_t count = 0;
  std::optional<Error> failure;
};

/// Brings the next block in behind what is left of this one. False at the end.
Result<bool> TapeReader::Impl::refill() {
  carry.assign(at, end);
  const auto block = blocks->next();
  if (!block) return tl::unexpected<Error>(block.error());
  if (block->empty()) return last_row();
  stats.bytes += block->size();
  if (carry.size() > kHeadroom) {
    drop_line({1, "", "a row of more than 65536 bytes", "shorter rows"});
    skipping_line = true;
    carry.clear();
  }
  std::memcpy(block->data() - carry.size(), carry.data(), carry.size());
  at = block->data() - carry.size();
  end = block->data() + block->size();
  stuck = false;
  run.next = run.end = nullptr;
  if (!skipping_line) return true;
  const auto* newline = static_cast<const char*>(std::memchr(at, '\n', static_cast<std::size_t>(end - at)));
  at = newline == nullptr ? end : newline + 1;
  skipping_line = newline == nullptr;
  return true;
}

/// At the end of the bytes: a last row without a line end is allowed, unless the writer was cut off.
Result<bool> TapeReader::Impl::last_row() {
  ended = true;
  stats.torn = blocks->torn();
  at = end = nullptr;
  if (carry.empty() || skipping_line || stats.torn) return false;
  carry += '\n';
  const std::size_t size = carry.size();
  carry.append(kSlack, '\0');
  at = carry.data();
  end = at + size;
  run.next = run.end = nullptr;
  at_last_row = true;
  stuck = false;
  return true;
}

Status TapeReader::Impl::header() {
  for (;;) {
    std::string_view text = rest();
    if (text.substr(0, kByteOrderMark.size()) == kByteOrderMark) text.remove_prefix(kByteOrderMark.size());
    record.read(text);
    if (record.state == RecordText::State::whole) {
      at = text.data() + record.length;
      break;
    }
    if (record.state == RecordText::State::stray_quote || text.size() > kHeadroom) {
      return fail(name + ":1:1: found no header row, expected time,symbol,price,size,conditions in any order");
    }
    const auto more = refill();
    if (!more) return tl::unexpected<Error>(more.error());
    if (!*more)
      return fail(name + ":1:1: found " + (stats.bytes == 0 ? "an empty file" : "no whole row") +
                  ", expected a tape with a header row");
  }
  std::vector<std::string> names;
  for (const RecordField& field : record.fields) names.emplace_back(field.text);
  line += record.lines;
  auto read = read_header(names, name);
  if (!read) return tl::unexpected<Error>(read.error());
  layout = std::move(*read);
  stats.ignored_columns = layout.ignored;
  if (!options.plain_path) fast.emplace(layout, symbols);
  return {};
}

void TapeReader::Impl::refuse(const RowFault& fault) {
  ++stats.malformed;
  if (stats.told.size() >= options.most_told) return;
  const std::string what = fault.name.empty() ? "" : std::string(fault.name) + ": ";
  const std::string found = fault.name.empty() ? fault.found : "\"" + fault.found + "\"";
  stats.told.push_back(name + ":" + std::to_string(line) + ":" + std::to_string(fault.column) + ": " + what + "found " +
                       found + ", expected " + std::string(fault.allowed) + "; the row was skipped");
}

void TapeReader::Impl::drop_line(const RowFault& fault) {
  ++stats.rows;
  refuse(fault);
  ++line;
}

/// Finds the separators of the text at `at`; false when there is no whole row among them.
bool TapeReader::Impl::find_slice() {
  const std::size_t size = std::min(kSlice, static_cast<std::size_t>(end - at));
  run.text = at;
  run.next = places.data();
  run.end = places.data() + find_separators(at, size, places.data());
  return separators_left() >= fast->fields();
}

/// Rows by the fast path as long as they are common ones and there is room; then one by the plain path, where it was a
/// row that stopped it.
void TapeReader::Impl::take_rows() {
  if (separators_left() < fast->fields() && !find_slice()) return take_row();
  run.start = static_cast<std::uint32_t>(at - run.text);
  run.out = room.data() + count;
  run.out_end = room.data() + room.size();
  run.rows = 0;
  const bool common = fast->take(run);
  const auto ticks = static_cast<std::size_t>(run.out - room.data()) - count;
  at = run.text + run.start;
  count += ticks;
  line += run.rows;
  stats.rows += run.rows;
  stats.outside += run.rows - ticks;
  if (common) return;
  take_row();
  while (run.next != run.end && run.text + *run.next < at) ++run.next;
}

/// The row at `at`, by the plain path.
void TapeReader::Impl::take_row() {
  record.read(rest());
  switch (record.state) {
    case RecordText::State::more:
      if (at_last_row) return unfinished_row();
      stuck = true;
      return;
    case RecordText::State::open_quote:
      // Perhaps the quote closes in the next block; but no further than a row may reach, lest one quote swallow the tape.
      if (rest().size() <= kHeadroom && !at_last_row) {
        stuck = true;
        return;
      }
      return refuse_record();
    case RecordText::State::stray_quote:
      return refuse_record();
    case RecordText::State::whole:
      return take_whole_row();
  }
}

/// A row with quotes where none may stand: it ends with its line.
void TapeReader::Impl::refuse_record() {
  if (at_last_row) return unfinished_row();
  const bool open = record.state == RecordText::State::open_quote;
  at += record.length;
  drop_line({record.column, "", open ? "a quote that is never closed" : "a stray quote",
             "quotes around a whole field, doubled inside it"});
}

void TapeReader::Impl::unfinished_row() {
  stats.torn = true;
  at = end;
  stuck = true;
}

void TapeReader::Impl::take_whole_row() {
  at += record.length;
  if (record.fields.size() == 1 && record.fields[0].text.empty()) {
    ++stats.blank_lines;
    line += record.lines;
    return;
  }
  Tick& tick = room[count];
  const auto fault = read_row(record.fields, layout, symbols, tick, stats.cut_conditions);
  if (fault && at_last_row) return unfinished_row();
  ++stats.rows;
  if (fault) {
    refuse(*fault);
  } else if (tick.time < run.from || tick.time >= run.to) {
    ++stats.outside;
  } else {
    ++count;
  }
  line += record.lines;
}

Status TapeReader::Impl::judge(std::uint64_t least_rows) const {
  const double most = options.most_bad_share * static_cast<double>(std::max(stats.rows, least_rows));
  if (static_cast<double>(stats.malformed) <= most && (stats.malformed == 0 || stats.malformed < stats.rows)) return {};
  std::string text = name + ": found " + std::to_string(stats.malformed) + " bad rows among " +
                     std::to_string(stats.rows) + ", expected at most " +
                     format_micros(static_cast<std::int64_t>(options.most_bad_share * 1e8), 0) + " %; reading stopped";
  if (!stats.told.empty()) text += "; the first: " + stats.told.front();
  return fail(std::move(text));
}

TapeReader::TapeReader(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
TapeReader::~TapeReader() = default;

Result<std::unique_ptr<TapeReader>> TapeReader::open(const std::string& path, SymbolTable& symbols,
                                                     const TapeOptions& options) {
  auto bytes = open_bytes(path);
  if (!bytes) return tl::unexpected<Error>(bytes.error());
  return open(std::move(*bytes), symbols, options);
}

Result<std::unique_ptr<TapeReader>> TapeReader::open(OpenedBytes bytes, SymbolTable& symbols, const TapeOptions& options,
                                                     std::shared_ptr<Helper> helper) {
  if (bytes.kind == RecordingKind::frames) {
    return fail(bytes.name + ": found recorded frames, expected a CSV tape with a header row");
  }
  auto impl = std::make_unique<Impl>(std::move(bytes), symbols, options, std::move(helper));
  if (const auto read = impl->header(); !read) return tl::unexpected<Error>(read.error());
  return std::unique_ptr<TapeReader>(new TapeReader(std::move(impl)));
}

Result<std::span<const Tick>> TapeReader::next() {
  const std::span<Tick> room = impl_->batch;
  return next(room).map([room](std::size_t count) { return std::span<const Tick>(room.first(count)); });
}

Result<std::size_t> TapeReader::next(std::span<Tick> room) {
  Impl& self = *impl_;
  if (self.failure) return 0;
  self.room = room.first(std::min(room.size(), kBatch));
  self.count = 0;
  Status status;
  while (self.count < self.room.size() && status) {
    if (self.stuck || self.at == self.end) {
      if (self.ended || self.count > 0) break;
      const auto more = self.refill();
      if (!more) status = tl::unexpected<Error>(more.error());
      if (more && !*more) break;
      continue;
    }
    if (self.fast && !self.at_last_row) {
      self.take_rows();
    } else {
      self.take_row();
    }
  }
  self.stats.ticks += self.count;
  const bool over = self.count == 0 && self.ended;
  if (status && (over || self.stats.rows >= kJudgedFrom)) status = self.judge(over ? 100 : 0);
  if (!status) {
    self.failure = status.error();
    return tl::unexpected<Error>(status.error());
  }
  return self.count;
}

const TapeStats& TapeReader::stats() const { return impl_->stats; }

std::string TapeReader::summary() const {
  const TapeStats& stats = impl_->stats;
  std::string text =
      impl_->name + ": " + std::to_string(stats.ticks) + " ticks of " + std::to_string(stats.rows) + " rows";
  if (stats.malformed > 0) text += "; " + std::to_string(stats.malformed) + " bad rows skipped";
  if (stats.outside > 0) text += "; " + std::to_string(stats.outside) + " outside the time asked for";
  if (stats.cut_conditions > 0)
    text += "; " + std::to_string(stats.cut_conditions) + " rows with more than eight conditions, the first eight used";
  for (std::size_t i = 0; i < stats.ignored_columns.size(); ++i) {
    text += (i == 0 ? "; unknown columns ignored: " : ", ") + shown(stats.ignored_columns[i]);
  }
  if (stats.torn)
    text += "; the recording ends in the middle, as after a power failure: what was written before was read";
  return text;
}

}  // namespace brimwatch
