#include "evening/text/page.h"

#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr std::string_view kHead =
    "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" "
    "content=\"width=device-width\"><meta name=\"color-scheme\" content=\"light dark\">\n"
    "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; "
    "img-src data: cid:\">\n";

// The inks are those of the pictures (pictures/palette.h): the ground, the ink, the quiet ink, and the colours of what is
// well and what is not.
constexpr std::string_view kStyle =
    "<style>:root{color-scheme:light dark;--ground:#fff;--ink:#1a1a1a;--quiet:#595959;--grid:#ddd;--yes:#00694d;"
    "--no:#9c4400}"
    "@media (prefers-color-scheme:dark){:root{--ground:#121212;--ink:#ececec;--quiet:#b0b0b0;--grid:#3a3a3a;"
    "--yes:#20b890;--no:#e69f00}.bright{display:none!important}.dim{display:block!important}}"
    "body{font:15px/1.45 sans-serif;background:var(--ground);color:var(--ink);max-width:60em;margin:2em auto;padding:0 "
    "1em}"
    "h1{font-size:1.5em}h2{font-size:1.15em;margin-top:2em}table{border-collapse:collapse}"
    "th,td{text-align:left;padding:.25em .9em .25em 0;border-bottom:1px solid var(--grid);vertical-align:top}"
    "article{border-top:1px solid var(--grid);padding:1em 0;display:flex;flex-wrap:wrap;gap:1.5em}"
    "article div{flex:1 1 22em}p{margin:.3em 0}ul{margin:.3em 0;padding-left:1.2em}img{max-width:100%;height:auto}"
    ".yes{color:var(--yes)}.no{color:var(--no)}.small{color:var(--quiet);font-size:.9em}</style>\n";

}  // namespace

std::string page_head(std::string_view title) {
  const std::string text = escape_markup(clean_line(title, 200));
  return std::string(kHead).append(kStyle) + "<title>" + text + "</title></head><body><h1>" + text + "</h1>\n";
}

}  // namespace brimwatch
