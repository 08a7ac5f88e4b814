#pragma once
// brimwatch journal export: rows of one kind for other programs, as CSV (RFC 4180) or JSON.
#include <functional>
#include <optional>
#include <string>

#include "commands/command.h"
#include "journal/journal.h"

namespace brimwatch {

/// `path` tells which journal and `query` which days and symbol, once the arguments are read; no query: they were wrong,
/// and it has been said.
void add_journal_export(CLI::App& journal, const std::function<std::string()>& path,
                        const std::function<std::optional<NoticeQuery>()>& query, CommandContext& context);

/// The values of one flat JSON object of ours under `columns`, as a line of CSV: text without its quotes, numbers as they
/// stand, null and what is missing as nothing.
[[nodiscard]] std::string csv_of(std::string_view object, const std::vector<std::string_view>& columns);

}  // namespace brimwatch
