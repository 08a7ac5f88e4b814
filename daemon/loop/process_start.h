#pragma once
// Set-up of the process, for every command, before anything else.
namespace brimwatch {

/// Descriptors 0 to 2 are open, on /dev/null where whoever started us had closed them: else the journal or a socket would
/// become "standard error", and a line of the log would be written into it. A file that grows over the limit (ulimit -f)
/// is an error where it is written, not the end of the program (SIGXFSZ).
/// False when a descriptor could not be opened.
[[nodiscard]] bool prepare_process();

}  // namespace brimwatch
