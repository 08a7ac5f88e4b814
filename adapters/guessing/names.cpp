#include "adapters/guessing/names.h"

#include <algorithm>
#include <cctype>
#include <cstdint>
#include <iterator>
#include <string>

namespace brimwatch {
namespace {

struct NameRow {
  std::optional<Field> field;  ///< none: it is of something that we do not map
  double weight;               ///< 0 to 1: how much it speaks for the field; -1: against every field
  std::string_view names;      ///< with blanks between and around
};

/// Whole names, small letters and digits only. A name may stand in several rows: values decide between them. Those that
/// we do not map count as words too, wherever in a name they stand.
constexpr NameRow kNames[] = {
    {Field::symbol, 1.0,
     " symbol sym ticker tickersymbol securityid instrument instrumentid instid security stock symbolname stocksymbol "
     "secsymbol symb tkr issue issuesymbol 55 "},
    {Field::symbol, 0.7, " s code name product id key root asset contract underlying topic channel sid "},
    {Field::price, 1.0,
     " price px prc lastprice lastpx tradeprice tradepx dealprice execprice executionprice lastsale lastsaleprice "
     "printprice matchprice lasttradeprice last_trade_price tprice tradedprice pricelast trdprc trdpx 31 270 44 "},
    {Field::price, 0.8, " p last lp l tp value rate pr close c lst trd newprice correctedprice "},
    {Field::size, 1.0,
     " size qty quantity sz shares lastsize lastqty tradesize tradeqty tradevolume dealsize execqty lastshares sharesize "
     "lots tradequantity lastvolume lastsz trdvol trdsz filledqty tradedqty tsize lotcount qtylots sizelots sizeinlots "
     "lotsize roundlots 32 271 "},
    {Field::size, 0.8, " s v q z vol volume amount amt ls lv ts tv num lot sh newsize correctedsize "},
    {Field::time, 1.0,
     " time timestamp ts tradetime exchangetime exchtime eventtime transacttime executiontime exectime exchangetimestamp "
     "tradetimestamp participanttime participanttimestamp datetime epoch lasttime timems timens timeus tstamp occurredat "
     "executedat tradedat at when time_ns 60 273 "},
    {Field::time, 0.8,
     " t tm tt dt date e eventts ets tms lastupdated updated y asof instant clock stamp utc quotetime bartime closetime "
     "endtime "},
    {Field::time, 0.5,
     " sendingtime senttime sent sentat published publishedat senttimestamp siptime siptimestamp captured w 52 barstart "
     "start starttime opentime end "},
    {Field::conditions, 1.0,
     " conditions condition cond conds salecondition saleconditions tradecondition tradeconditions qualifiers qualifier "
     "salecond tradecond modifiers conditioncodes condcodes cnd scond 277 "},
    {Field::conditions, 0.7, " c flags codes sc tc m mods f attributes attrs "},
    {Field::odd_lot, 1.0, " oddlot isoddlot odd isodd oddlotflag oddlotind oddlotindicator "},
    {Field::odd_lot, 0.6, " ol "},
    {Field::exchange, 1.0,
     " exchange exch venue mic market exchangeid exchangecode marketcenter participant executingvenue tradevenue exchid "
     "venueid reportingvenue 207 30 "},
    {Field::exchange, 0.7, " x ex e mkt center m v "},
    {Field::id, 1.0,
     " tradeid execid executionid tid dealid matchid printid transactionid txid uid uuid trdid tradeno tradenumber "
     "execno "
     "matchnumber matchno executionnumber dealnumber dealno originalid origid originaltradeid reftradeid tradeidref "
     "origtradeid originaltid 17 1003 278 "},
    {Field::id, 0.95, " id "},
    {Field::id, 0.7, " i no of oid ref xid trade number reference rid target k orderref "},
    {Field::day_volume, 1.0,
     " dayvolume totalvolume cumvolume cumulativevolume accumulatedvolume accvolume cumvol dayvol totalvol accvol "
     "volumetoday todayvolume dailyvolume dv av tv cv cumqty totalqty totalshares dayshares volumetotal cumulativeqty "
     "totvol voltotal sessionvolume turnovershares vday cumshares accshares daytotal tradedvolume totaltradedvolume 387 "
     "1020 "},
    {Field::day_volume, 0.7, " volume v vol total cum day shares traded acc "},
    {Field::bid, 1.0, " bid bidprice bidpx bp bestbid bestbidprice bpx bprice bidprc bb 132 "},
    {Field::bid, 0.8, " b buy "},
    {Field::ask, 1.0,
     " ask askprice askpx ap offer offerprice offerpx bestask bestoffer bestaskprice apx op aprice askprc bo ofr ofrpx "
     "133 "},
    {Field::ask, 0.8, " a o sell "},
    {Field::bid_size, 1.0,
     " bidsize bidqty bidsz bs bsz bq bidvolume bidquantity bestbidsize bestbidqty bidshares bidlots bidvol bv bz bn "
     "bsize bqty 134 "},
    {Field::ask_size, 1.0,
     " asksize askqty asksz as asz aq askvolume askquantity offersize offerqty bestasksize bestaskqty bestoffersize "
     "askshares asklots askvol av az an asize aqty os oq ofrsz 135 "},
    {Field::status, 1.0,
     " status tradingstatus tradestatus haltstatus state tradingstate phase halt halted ishalted marketstatus "
     "sessionstate securitystatus securitytradingstatus tradingphase 326 "},
    {Field::status, 0.7, " st h action code reason ss sta hs sc "},
    {Field::sequence, 1.0, " sequence sequencenumber seq seqnum seqno seqid seqn sqn msgseq msgseqnum 34 "},
    {Field::sequence, 0.7, " n sn q counter offset msgno msgid u cursor "},
    {Field::low, 1.0, " low lowprice lowpx lo barlow minimum min "},
    {Field::low, 0.9, " l "},
    {Field::high, 1.0, " high highprice highpx hi barhigh maximum max "},
    {Field::high, 0.9, " h "},
    {Field::old_price, 1.0,
     " oldprice origprice originalprice prevprice wasprice oldpx origpx originalpx pricewas priceold oldp op ppx "},
    {Field::old_size, 1.0,
     " oldsize origsize originalsize prevsize wassize oldqty origqty originalqty oldshares origshares oldvolume osz oq "
     "os sizewas "},
    {Field::number, 1.0, " number num instrumentid securityid sid symbolid iid locate stocklocate idx index nr "},
    {Field::number, 0.8, " n id no i ref "},
    {std::nullopt, -1,
     " vwap average avg open opening change chg pct percent prev previous yesterday limit strike upper lower settlement "
     "settle reference mark theoretical fair trades tradecount count side aggressor tape currency ccy year week month "
     "spread mid midpoint turnover notional marketcap float lotsize decimals scale exponent precision version "},
};

bool has_word(std::string_view list, std::string_view word) {
  return list.find(" " + std::string(word) + " ") != std::string_view::npos;
}

std::string plain(std::string_view name) {
  std::string out;
  for (const unsigned char c : name) {
    if (std::isalnum(c) != 0) out += static_cast<char>(std::tolower(c));
  }
  return out;
}

std::vector<std::string_view> tokens_of(std::string_view pointer) {
  std::vector<std::string_view> out;
  while (!pointer.empty()) {
    const std::size_t at = pointer.rfind('/');
    out.push_back(at == pointer.npos ? pointer : pointer.substr(at + 1));
    pointer = at == pointer.npos ? std::string_view() : pointer.substr(0, at);
  }
  return out;  // the last one first
}

bool is_index(std::string_view token) {
  return !token.empty() && std::all_of(token.begin(), token.end(), [](char c) { return c >= '0' && c <= '9'; });
}

enum class Beside : std::uint8_t { none, bid, ask, old, day };

bool any_word(const std::vector<std::string>& words, std::string_view list) {
  return std::any_of(words.begin(), words.end(), [&](const std::string& word) { return has_word(list, word); });
}

/// What the words of a name, or of the object that it stands in, put it beside.
Beside side_of(const std::vector<std::string>& words) {
  if (any_word(words, " bid bids buy ")) return Beside::bid;
  if (any_word(words, " ask asks offer offers sell ")) return Beside::ask;
  if (any_word(words, " old orig original was before prev previous replaced ")) return Beside::old;
  if (any_word(words, " day daily total cum cumulative acc accumulated today session ")) return Beside::day;
  return Beside::none;
}

enum class Noun : std::uint8_t { none, price, size, time, condition, exchange };

/// Units behind a name: a priceE4 is a price in ten thousandths, a timeNs one in nanoseconds.
std::vector<std::string> without_unit(std::vector<std::string> words) {
  constexpr std::string_view kUnits =
      " e2 e3 e4 e5 e6 e8 e9 1e4 1e6 x100 x1000 x10000 cents mills micros nanos millis ns us ms usd eur gbp mantissa raw "
      "scaled int fixed ticks ";
  if (words.size() > 1 && has_word(kUnits, words.back())) words.pop_back();
  return words;
}

/// exec_us, tradedMillis: the unit says that it is a time, where nothing else says what it is.
bool ends_with_unit_of_time(const std::vector<std::string>& words) {
  return words.size() > 1 && has_word(" ns us ms millis micros nanos ", words.back());
}

/// lastVenue, MDMkt: with an abbreviation before it that no small letter parts.
bool is_of_a_market(const std::string& word) {
  constexpr std::string_view kEnds[] = {"mkt", "venue", "exchange", "exch", "mic"};
  if (has_word(" revenue dynamic ", word)) return false;
  return std::any_of(std::begin(kEnds), std::end(kEnds), [&](std::string_view end) { return word.ends_with(end); });
}

Noun noun_of(const std::vector<std::string>& words) {
  if (words.empty()) return Noun::none;
  const std::string& last = words.back();
  if (words.size() > 1 && last == "at") return Noun::time;  // quotedAt, dealtAt
  if (has_word(" price px prc p rate ", last)) return Noun::price;
  if (has_word(" size sz qty quantity volume vol shares lots s q v amount ", last)) return Noun::size;
  if (any_word(words, " time timestamp ts stamp datetime ")) return Noun::time;
  if (is_of_a_market(last)) return Noun::exchange;
  if (any_word(words, " cond condition conditions conds qualifiers ")) return Noun::condition;
  return Noun::none;
}

double by_words(Field field, Beside side, Noun noun, bool bare) {
  const bool price = noun == Noun::price, size = noun == Noun::size;
  switch (field) {
    case Field::bid:
      return side == Beside::bid && (price || bare) ? 1 : 0;
    case Field::ask:
      return side == Beside::ask && (price || bare) ? 1 : 0;
    case Field::bid_size:
      return side == Beside::bid && size ? 1 : 0;
    case Field::ask_size:
      return side == Beside::ask && size ? 1 : 0;
    case Field::old_price:
      return side == Beside::old && price ? 1 : 0;
    case Field::old_size:
      return side == Beside::old && size ? 1 : 0;
    case Field::day_volume:
      return side == Beside::day && size ? 1 : 0;
    case Field::price:
      return side == Beside::none && price ? 0.9 : 0;
    case Field::size:
      return side == Beside::none && size ? 0.9 : 0;
    case Field::time:
      return noun == Noun::time ? 0.8 : 0;
    case Field::conditions:
      return noun == Noun::condition ? 0.9 : 0;
    case Field::exchange:
      return noun == Noun::exchange ? 0.8 : 0;
    default:
      return 0;
  }
}

bool is_of_nothing_mapped(const std::string& name, const std::vector<std::string>& words) {
  return std::any_of(std::begin(kNames), std::end(kNames), [&](const NameRow& row) {
    return !row.field && (has_word(row.names, name) || any_word(words, row.names));
  });
}

double by_whole_name(Field field, std::string_view name) {
  double best = 0;
  for (const NameRow& row : kNames) {
    if (row.field == field && has_word(row.names, name)) best = std::max(best, row.weight);
  }
  return best;
}

/// A name inside an object for one side, or for the day, is not that of the trade.
bool speaks_of_another(Field field, Beside side) {
  switch (side) {
    case Beside::bid:
      return field != Field::bid && field != Field::bid_size && field != Field::time && field != Field::exchange;
    case Beside::ask:
      return field != Field::ask && field != Field::ask_size && field != Field::time && field != Field::exchange;
    case Beside::old:
      return field != Field::old_price && field != Field::old_size && field != Field::id && field != Field::time;
    case Beside::day:
      return field == Field::size || field == Field::price;
    case Beside::none:
      return false;
  }
  return false;
}

/// A place in a list says nothing by itself; but a list of bids, or of asks, holds prices and sizes, the best first.
double place_speaks_for(Field field, const std::vector<std::string_view>& tokens) {
  std::vector<std::string> around;
  double level = 0;
  for (std::size_t i = 1; i < tokens.size(); ++i) {
    if (is_index(tokens[i])) level = std::max(level, tokens[i] == "0" ? 0.0 : 0.4);
    for (std::string& word : words_in(tokens[i])) around.push_back(std::move(word));
  }
  const Beside side = side_of(around);
  if (side != Beside::bid && side != Beside::ask) return 0;
  return speaks_of_another(field, side) ? -1 : 0.75 - level;
}

struct KindWords {
  MessageKind kind;
  std::string_view words;
};

constexpr KindWords kKindWordsOfTheTrade[] = {
    {MessageKind::accepted,
     " subscribed ok success ack acknowledged authenticated authorized connected welcome loggedin subscription "
     "subscriptions ready accepted login auth logon info system suback "},
    {MessageKind::refused, " error err reject rejected denied failed failure unauthorized refused nack "},
    {MessageKind::ignore, " heartbeat hb heart beat ping pong keepalive alive news imbalance luld weather notice "},
    {MessageKind::cancel,
     " cancel cancels canceled cancelled bust busted break broken void voided x tradecancel tradebreak retract revoke "
     "revoked delete deleted deletes del remove removed withdraw withdrawn reversal reversed nullify nullified annul "
     "annulled undo "},
    {MessageKind::correct,
     " correct correction corrections corrected amend amended amendment tradecorrection revision revise "
     "revised replace replaced modify modified modification adjust adjusted adjustment restate restated "},
    {MessageKind::status, " status halt halts tradingstatus tradinghalt resume market statuses state h "},
    {MessageKind::bar, " bar bars candle candles kline ohlc ohlcv agg aggregate minute b am m "},
    {MessageKind::quote, " quote quotes bbo nbbo top tops book q l1 level1 topofbook bidask qte "},
    {MessageKind::day, " snapshot summary stats daily day "},
    {MessageKind::trade,
     " trade trades t print prints lastsale match deal deals exec execution executions fill transaction sale sales tick "
     "ticks trd tradeupdate lasttrade last prt "},
};

}  // namespace

std::vector<std::string> words_in(std::string_view name) {
  std::vector<std::string> out;
  bool fresh = true, was_lower = false;
  for (const unsigned char c : name) {
    if (std::isalnum(c) == 0) {
      fresh = true;
      continue;
    }
    const bool upper = std::isupper(c) != 0;
    if (fresh || (upper && was_lower)) out.emplace_back();
    out.back() += static_cast<char>(std::tolower(c));
    fresh = false;
    was_lower = !upper;
  }
  return out;
}

double name_speaks_for(Field field, std::string_view pointer) {
  if (pointer == "key") return field == Field::symbol ? 1 : -1;
  if (pointer == "event") return 0;
  auto tokens = tokens_of(pointer);
  if (tokens.empty()) return 0;
  const std::string name = plain(tokens.front());
  if (is_index(tokens.front()) && name.size() < 2) return place_speaks_for(field, tokens);
  const auto written = words_in(tokens.front()), words = without_unit(written);
  std::vector<std::string> around;
  for (std::size_t i = 1; i < tokens.size(); ++i) {
    for (std::string& word : words_in(tokens[i])) around.push_back(std::move(word));
  }
  const Beside own = side_of(words), side = own != Beside::none ? own : side_of(around);
  std::string bare;
  for (const std::string& word : words) bare += word;
  const double whole = std::max(by_whole_name(field, name), by_whole_name(field, bare));
  if (own == Beside::none && side != Beside::none && speaks_of_another(field, side)) return -1;
  Noun noun = noun_of(words);
  if (noun == Noun::none && ends_with_unit_of_time(written)) noun = Noun::time;
  if ((noun == Noun::none || noun == Noun::exchange) && noun_of(around) == Noun::time) noun = Noun::time;
  if (words.size() == 1 && tokens.size() > 1 && has_word(" mantissa value val ", words.front()))
    noun = noun_of(without_unit(words_in(tokens[1])));  // of what it stands in
  const double by = by_words(field, side, noun, words.size() == 1 && own == side);
  if (std::max(whole, by) > 0) return std::max(whole, by);
  return is_of_nothing_mapped(name, words) ? -1 : 0;
}

double name_speaks_for_kind(std::string_view pointer) {
  if (pointer == "event") return 1;
  const bool first = pointer.ends_with("/0") && std::count(pointer.begin(), pointer.end(), '/') <= 2;
  if (first) return 0.6;  // in a list, as a word before what it tells of
  const auto tokens = tokens_of(pointer.substr(0, pointer.find('\x01')));
  const std::string name = tokens.empty() ? "" : plain(tokens.front());
  if (has_word(" type kind event msgtype messagetype eventtype mtype msg evt typ rectype recordtype datatype feedtype "
               "updatetype 35 ",
               name))
    return 1;
  if (has_word(" channel topic stream table action method ch op category subject class what t e ev a ty k mt cmd fn 269 ",
               name))
    return 0.8;
  return 0;
}

std::optional<MessageKind> kind_of_word(std::string_view word) {
  const std::string whole = plain(word);
  for (const auto& row : kKindWordsOfTheTrade) {
    if (has_word(row.words, whole)) return row.kind;
  }
  const auto words = words_in(word);
  for (const auto& row : kKindWordsOfTheTrade) {
    for (const std::string& part : words) {
      if (part.size() > 2 && has_word(row.words, part)) return row.kind;
    }
  }
  return std::nullopt;
}

std::string_view status_of_word(std::string_view word, std::string_view pointer) {
  const std::string whole = plain(word);
  if (has_word(" true 1 yes on y ", whole) && any_word(words_in(pointer), " halt halted ishalted ")) return "halted";
  if (has_word(" false 0 no off n ", whole) && any_word(words_in(pointer), " halt halted ishalted ")) return "trading";
  if (has_word(" halted halt h stop stopped suspended suspend tradinghalt ", whole)) return "halted";
  if (has_word(" trading t resume resumed go open active normal continuous tradable resumetrading regular ", whole))
    return "trading";
  if (has_word(" paused pause p volatilitypause luldpause ludp volatility ", whole)) return "paused";
  if (has_word(" quotation q quoteonly quoting quotationonly quotationresume quoteresume ", whole)) return "quotation";
  const auto words = words_in(word);
  if (any_word(words, " resume resumed ")) return any_word(words, " quote quotation ") ? "quotation" : "trading";
  if (any_word(words, " pause paused ")) return "paused";
  if (any_word(words, " halt halted suspended ")) return "halted";
  if (any_word(words, " trading ")) return "trading";
  return {};
}

std::optional<std::string_view> condition_of_word(std::string_view word) {
  struct Row {
    std::string_view code, words;
  };
  // Names of the codes as in config/conditions, from the tape's specification.
  constexpr Row kRows[] = {
      {"@", " regular regularsale normal reg "},
      {"I", " oddlot odd "},
      {"T", " extendedhours formt premarket afterhours exthours ext "},
      {"Z", " soldoutofsequence outofsequence late oos "},
      {"L", " soldlast "},
      {"F", " intermarketsweep iso sweep "},
      {"O", " opening openingprint open marketcenteropening "},
      {"6", " closing closingprint close "},
      {"5", " reopening reopeningprint "},
      {"W", " averageprice avgprice average "},
      {"4", " derivativelypriced derivative "},
      {"C", " cash cashsale "},
      {"R", " seller "},
      {"P", " priorreference priorreferenceprice "},
      {"X", " cross crosstrade "},
      {"V", " contingent contingenttrade "},
      {"7", " qualifiedcontingent qct "},
      {"U", " extendedhoursoutofsequence exthoursoutofsequence "},
  };
  const std::string whole = plain(word);
  for (const Row& row : kRows) {
    if (has_word(row.words, whole)) return row.code;
  }
  return std::nullopt;
}

}  // namespace brimwatch
