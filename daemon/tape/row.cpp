#include "tape/row.h"

#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr std::string_view kTime = "a time such as 2026-11-25T10:42:07.25-05:00";
constexpr std::string_view kSymbol = "a symbol of 1 to 32 characters without blanks around it";
constexpr std::string_view kFewerSymbols = "at most 1000000 different symbols";
constexpr std::string_view kAboveZero = "a number above zero such as 48.35";
constexpr std::string_view kNotNegative = "a number, zero or above, such as 100";
constexpr std::string_view kKind = "trade, quote, cancel, correct, status, bar, day, hole, or nothing for a trade";
constexpr std::string_view kExchange = "one letter or digit, or nothing";
constexpr std::string_view kStatus = "trading, halted, paused or quotation";
constexpr std::string_view kConditions = "sale condition codes, printable and without control characters";
constexpr std::string_view kHoleEnd = "the end of the hole, not before its start";

/// One pass over the fields of one row; the first fault ends it.
class RowReader {
 public:
  RowReader(const std::vector<RecordField>& fields, const Layout& layout, SymbolCache& symbols, Tick& tick)
      : fields_(fields), layout_(layout), symbols_(symbols), tick_(tick) {}

  std::optional<RowFault> read(std::uint64_t& cut) {
    tick_ = Tick{};
    bool more_codes = false;
    const bool good = kind() && time(Column::time, tick_.time, true) && symbol() && numbers() && conditions(more_codes) &&
                      exchange() && status() && time(Column::received, tick_.received, tick_.kind == TickKind::hole) &&
                      hole();
    if (good) resolve_symbol();  // last, so that no refused row brings in a new one
    tick_.id = trade_id_of(text(Column::id));
    cut += !fault_ && more_codes;
    return std::move(fault_);
  }

 private:
  [[nodiscard]] std::string_view text(Column column) const {
    const int at = layout_[column];
    return at < 0 ? std::string_view() : fields_[static_cast<std::size_t>(at)].text;
  }

  bool wrong(Column column, std::string_view allowed) {
    const int at = layout_[column];
    const std::uint32_t place = at < 0 ? 1 : fields_[static_cast<std::size_t>(at)].column;
    fault_ = RowFault{place, to_string(column), shown(text(column)), allowed};
    return false;
  }

  bool kind() {
    const std::string_view word = text(Column::kind);
    if (word.empty()) return true;
    for (std::size_t i = 0; i < kTickKinds.size(); ++i) {
      if (kTickKinds[i] == word) return tick_.kind = static_cast<TickKind>(i), true;
    }
    return wrong(Column::kind, kKind);
  }

  bool time(Column column, Timestamp& into, bool needed) {
    const std::string_view word = text(column);
    if (word.empty() && !needed) return true;
    const auto time = parse_rfc3339(word);
    if (!time) return wrong(column, kTime);
    into = *time;
    return true;
  }

  bool symbol() {
    const std::string_view word = text(Column::symbol);
    if (word.empty() && tick_.kind == TickKind::hole) return true;
    return is_symbol(word) || wrong(Column::symbol, kSymbol);
  }

  void resolve_symbol() {
    const std::string_view word = text(Column::symbol);
    if (word.empty()) return;
    tick_.symbol = symbols_.resolve(word);
    if (tick_.symbol == kNoSymbol) wrong(Column::symbol, kFewerSymbols);
  }

  /// An empty field is zero where the kind does not need it.
  bool number(Column column, std::int64_t& into, bool needed, bool above_zero) {
    const std::string_view word = text(column);
    if (word.empty() && !needed) return true;
    const auto micros = parse_micros(word, Extra::drop);
    if (!micros || *micros < 0 || (above_zero && *micros == 0))
      return wrong(column, above_zero ? kAboveZero : kNotNegative);
    into = *micros;
    return true;
  }

  bool numbers() {
    const bool priced = tick_.kind == TickKind::trade || tick_.kind == TickKind::correct || tick_.kind == TickKind::bar ||
                        tick_.kind == TickKind::day;
    const bool sized = priced && tick_.kind != TickKind::day;
    const bool bar = tick_.kind == TickKind::bar;
    return number(Column::price, tick_.price.micros, priced, priced) &&
           number(Column::size, tick_.size.micros, sized, false) &&
           number(Column::day_volume, tick_.day_volume.micros, false, false) &&
           number(Column::bid, tick_.bid.micros, bar, bar) && number(Column::ask, tick_.ask.micros, bar, bar) &&
           number(Column::bid_size, tick_.bid_size.micros, false, false) &&
           number(Column::ask_size, tick_.ask_size.micros, false, false);
  }

  bool conditions(bool& more_codes) {
    const std::string_view word = text(Column::conditions);
    for (const char c : word) {
      if (static_cast<unsigned char>(c) < 0x20 || static_cast<unsigned char>(c) > 0x7E)
        return wrong(Column::conditions, kConditions);
    }
    tick_.conditions = Conditions::of(word, &more_codes);
    return true;
  }

  bool exchange() {
    const std::string_view word = text(Column::exchange);
    if (word.size() > 1 || (word.size() == 1 && (word[0] <= ' ' || word[0] > '~')))
      return wrong(Column::exchange, kExchange);
    tick_.exchange = word.empty() ? '\0' : word[0];
    return true;
  }

  bool status() {
    const std::string_view word = text(Column::status);
    if (word.empty() && tick_.kind != TickKind::status) return true;
    for (std::size_t i = 1; i < kTradingStatuses.size(); ++i) {
      if (kTradingStatuses[i] == word) return tick_.status = static_cast<TradingStatus>(i), true;
    }
    return wrong(Column::status, kStatus);
  }

  bool hole() {
    if (tick_.kind != TickKind::hole || tick_.received >= tick_.time) return true;
    return wrong(Column::received, kHoleEnd);
  }

  const std::vector<RecordField>& fields_;
  const Layout& layout_;
  SymbolCache& symbols_;
  Tick& tick_;
  std::optional<RowFault> fault_;
};

}  // namespace

std::string shown(std::string_view text) { return clean_line(text, 40); }

std::optional<RowFault> read_row(const std::vector<RecordField>& fields, const Layout& layout, SymbolCache& symbols,
                                 Tick& tick, std::uint64_t& cut) {
  if (fields.size() != layout.fields) {
    return RowFault{1, "", std::to_string(fields.size()) + (fields.size() == 1 ? " field" : " fields"),
                    "as many as the header names"};
  }
  return RowReader(fields, layout, symbols, tick).read(cut);
}

}  // namespace brimwatch
