#pragma once
// Where files live: the XDG Base Directory Specification 0.8, and systemd's folders for a service where it gives them.
#include <string>

namespace brimwatch {

/// All end without a slash and have "/brimwatch" at their end where XDG is the source. Variables that are empty or not
/// absolute are passed over, as the specification says. Nothing is created.
struct Places {
  std::string config;                ///< $CONFIGURATION_DIRECTORY, $XDG_CONFIG_HOME, ~/.config
  std::string state;                 ///< $STATE_DIRECTORY, $XDG_STATE_HOME, ~/.local/state
  std::string data;                  ///< $XDG_DATA_HOME, ~/.local/share
  std::string runtime;               ///< $RUNTIME_DIRECTORY, $XDG_RUNTIME_DIR; where neither is there, the state folder
  bool runtime_is_fallback = false;  ///< neither was there: say so once

  [[nodiscard]] std::string config_file() const { return config + "/brimwatch.toml"; }
  [[nodiscard]] std::string journal() const { return state + "/journal.db"; }
  [[nodiscard]] std::string learned() const { return state + "/curves.toml"; }
  [[nodiscard]] std::string heard() const { return state + "/heard"; }
  [[nodiscard]] std::string control_socket() const { return runtime + "/control.sock"; }
  [[nodiscard]] std::string lock() const { return runtime + "/lock"; }
};

/// Whose Brimwatch this process is about: the user's own, or the system service of this machine.
enum class Instance { own, system };

/// For the rest of this process, before it asks for any place: places() and config_file() then answer for that one.
void be_about(Instance which);
[[nodiscard]] Instance about_which();

/// From this process's environment; about the system service, its folders as the unit and systemd.exec(5) have them.
[[nodiscard]] Places places();
[[nodiscard]] Places system_places();

/// The folder of the system service's credentials, while it runs (systemd.exec(5), CREDENTIALS).
inline constexpr const char* kSystemCredentials = "/run/credentials/brimwatch.service";

/// `given` made absolute; when empty, the file in the place XDG gives, or else the first in $XDG_CONFIG_DIRS that is
/// there.
[[nodiscard]] std::string config_file(const std::string& given);

/// The file of learned curves: `named`, or where nothing is named the place XDG gives. One answer for all commands.
[[nodiscard]] std::string learned_file(const std::string& named);

/// The folder of days that the daemon heard, beside its journal.
[[nodiscard]] std::string heard_beside(const std::string& journal);

/// $HOME, or the password database's entry; empty when there is none.
[[nodiscard]] std::string home_directory();
[[nodiscard]] std::string current_directory();

/// Creates the folder and those above it, 0700, when missing. False when that fails.
[[nodiscard]] bool make_private_directory(const std::string& path);

}  // namespace brimwatch
