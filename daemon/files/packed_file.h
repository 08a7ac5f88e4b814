#pragma once
// Text files, plain, gzip (RFC 1952), zstd (RFC 8878) or zip: told by their first bytes, whatever their names say. What
// is unpacked has a bound, whatever the packed bytes claim.
#include <string>
#include <vector>

#include "core/result.h"
#include "files/text_file.h"

namespace brimwatch {

struct NamedText {
  std::string name;  ///< "KLVN.csv": the file's, without ".gz" or ".zst"; of a zip the member's, without folders
  std::string text;
};

/// One text, or those of a zip whose names end like a table's (.csv, .txt, .tsv), in the order of their names. Errors
/// begin with the path.
[[nodiscard]] Result<std::vector<NamedText>> read_packed(const std::string& path,
                                                         std::uint64_t most_bytes = kMostTextBytes);

}  // namespace brimwatch
