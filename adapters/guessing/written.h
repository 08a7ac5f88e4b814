#pragma once
// A proposal, written: as a [[feed]] for the configuration, as JSON for a program, as a report for a person. Pure.
#include <string>

#include "adapters/guessing/proposal.h"

namespace brimwatch {

/// TOML of the whole [[feed]], each guess with its evidence behind it.
[[nodiscard]] std::string feed_as_toml(const Proposal& proposal);

/// One object on one line: fields, fields_of, kind_words, time_format, ..., guesses with evidence, asked, trial.
[[nodiscard]] std::string proposal_as_json(const Proposal& proposal);

/// The sorts of messages, the guesses, what is asked, what the decoder made of the sample; lines of at most 80 characters
/// where words allow.
[[nodiscard]] std::string proposal_as_text(const Proposal& proposal);

}  // namespace brimwatch
