#include "files/packed_file.h"

#include <minizip/unzip.h>
#include <zlib.h>
#include <zstd.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <memory>
#include <utility>

namespace brimwatch {
namespace {

constexpr std::size_t kMembersMost = 100'000;
constexpr std::size_t kPieceOfText = 1U << 18;

std::string too_much(std::uint64_t most) {
  return "found more than " + std::to_string(most) + " bytes when unpacked; the file was not used";
}

/// Several members one behind the other are one text, as gzip(1) has it.
Result<std::string> gunzip(const std::string& path, std::string_view packed, std::uint64_t most) {
  z_stream stream{};
  constexpr int kGzip = 16;
  if (inflateInit2(&stream, MAX_WBITS + kGzip) != Z_OK) return fail(path + ": no memory to unpack it");
  const std::unique_ptr<z_stream, int (*)(z_stream*)> end(&stream, inflateEnd);
  stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(packed.data()));
  stream.avail_in = static_cast<uInt>(packed.size());
  std::string text;
  int state = Z_OK;
  while (state == Z_OK || (state == Z_STREAM_END && stream.avail_in > 0 && inflateReset(&stream) == Z_OK)) {
    const std::size_t filled = text.size();
    text.resize(filled + kPieceOfText);
    stream.next_out = reinterpret_cast<Bytef*>(text.data() + filled);
    stream.avail_out = static_cast<uInt>(kPieceOfText);
    state = inflate(&stream, Z_NO_FLUSH);
    text.resize(text.size() - stream.avail_out);
    if (text.size() > most) return fail(path + ": " + too_much(most));
    if (state == Z_OK && stream.avail_in == 0 && stream.avail_out > 0) break;
  }
  if (state == Z_STREAM_END) return text;
  return fail(path + ": found a gzip file that " + (state == Z_OK ? "ends too early" : "is damaged") +
              "; the file was not used");
}

/// Several frames one behind the other are one text, as zstd(1) has it.
Result<std::string> unzstd_text(const std::string& path, std::string_view packed, std::uint64_t most) {
  const std::unique_ptr<ZSTD_DCtx, std::size_t (*)(ZSTD_DCtx*)> context(ZSTD_createDCtx(), ZSTD_freeDCtx);
  if (context == nullptr) return fail(path + ": no memory to unpack it");
  ZSTD_inBuffer in{packed.data(), packed.size(), 0};
  std::string text;
  std::size_t hint = 1;
  bool full = false;  // what is decoded may still wait inside the decoder
  while (in.pos < in.size || full) {
    const std::size_t filled = text.size();
    text.resize(filled + kPieceOfText);
    ZSTD_outBuffer out{text.data() + filled, kPieceOfText, 0};
    hint = ZSTD_decompressStream(context.get(), &out, &in);
    if (ZSTD_isError(hint)) return fail(path + ": found a zstd file that is damaged; the file was not used");
    text.resize(filled + out.pos);
    if (text.size() > most) return fail(path + ": " + too_much(most));
    full = hint != 0 && out.pos == out.size;
  }
  if (hint == 0) return text;
  return fail(path + ": found a zstd file that ends too early; the file was not used");
}

bool is_table(const std::string& name) {
  const std::string kind = std::filesystem::path(name).extension().string();
  return kind == ".csv" || kind == ".txt" || kind == ".tsv" || kind == ".CSV" || kind == ".TXT";
}

Result<std::string> read_member(unzFile zip, const std::string& place, std::uint64_t most) {
  if (unzOpenCurrentFile(zip) != UNZ_OK) return fail(place + ": found a member that cannot be opened (encrypted?)");
  std::string text;
  int got = 0;
  do {
    const std::size_t filled = text.size();
    text.resize(filled + kPieceOfText);
    got = unzReadCurrentFile(zip, text.data() + filled, static_cast<unsigned>(kPieceOfText));
    text.resize(filled + static_cast<std::size_t>(std::max(got, 0)));
    if (text.size() > most) break;
  } while (got > 0);
  const bool whole = unzCloseCurrentFile(zip) == UNZ_OK;  // its checksum
  if (text.size() > most) return fail(place + ": " + too_much(most));
  if (got < 0 || !whole) return fail(place + ": found a damaged member; the file was not used");
  return text;
}

Result<std::vector<NamedText>> unzip(const std::string& path, std::uint64_t most) {
  const std::unique_ptr<void, int (*)(unzFile)> zip(unzOpen64(path.c_str()), unzClose);
  if (zip == nullptr) return fail(path + ": found a zip file that cannot be read; the file was not used");
  std::vector<NamedText> out;
  std::uint64_t left = most;
  int state = unzGoToFirstFile(zip.get());
  for (std::size_t i = 0; state == UNZ_OK && i < kMembersMost; ++i, state = unzGoToNextFile(zip.get())) {
    std::array<char, 512> name{};
    if (unzGetCurrentFileInfo64(zip.get(), nullptr, name.data(), name.size() - 1, nullptr, 0, nullptr, 0) != UNZ_OK)
      return fail(path + ": found a damaged list of members; the file was not used");
    if (!is_table(name.data())) continue;
    auto text = read_member(zip.get(), path + ": " + name.data(), left);
    if (!text) return tl::unexpected(text.error());
    left -= text->size();
    out.push_back({std::filesystem::path(name.data()).filename().string(), std::move(*text)});
  }
  if (state == UNZ_OK)
    return fail(path + ": found more than " + std::to_string(kMembersMost) + " members; the file was not used");
  if (out.empty()) return fail(path + ": found no .csv or .txt in the zip file; the file was not used");
  std::sort(out.begin(), out.end(), [](const NamedText& a, const NamedText& b) { return a.name < b.name; });
  return out;
}

}  // namespace

Result<std::vector<NamedText>> read_packed(const std::string& path, std::uint64_t most_bytes) {
  auto bytes = read_file(path, most_bytes);
  if (!bytes) return tl::unexpected(bytes.error());
  if (bytes->starts_with("PK\x03\x04") || bytes->starts_with("PK\x05\x06")) return unzip(path, most_bytes);
  std::string name = std::filesystem::path(path).filename().string();
  if (name.ends_with(".gz")) name.resize(name.size() - 3);
  if (name.ends_with(".zst")) name.resize(name.size() - 4);
  if (bytes->starts_with("\x1F\x8B")) bytes = gunzip(path, *bytes, most_bytes);
  else if (bytes->starts_with("\x28\xB5\x2F\xFD")) bytes = unzstd_text(path, *bytes, most_bytes);
  if (!bytes) return tl::unexpected(bytes.error());
  std::vector<NamedText> out;
  out.push_back({std::move(name), std::move(*bytes)});
  return out;
}

}  // namespace brimwatch
