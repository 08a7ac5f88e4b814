// What the main file names and `brimwatch run` will miss: told with the place where it is named, before anything runs.
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>

#include "config/checks/checks.h"
#include "config/reading/text.h"
#include "config/secret.h"

namespace brimwatch {
namespace {

class Files {
 public:
  Files(const Value& main, std::string directory, std::string home, Problems& warnings)
      : main_(main), directory_(std::move(directory)), home_(std::move(home)), warnings_(warnings) {}

  void look() {
    look_at_daily();
    look_at_table("history", "splits", "its dates are not told in notices");
    look_at_table("history", "earnings", "its dates are not told in notices");
    look_at_table("market", "index", "the trend stays unknown");
    for (const std::string_view key : {"certificate", "key"}) look_at_table("page", key, "devices are not served");
    look_at_table("shared", "certificate", "etcd will refuse this machine");
    look_at_table("shared", "key", "etcd will refuse this machine");
    look_at_table("shared", "ca_file", "no etcd will be trusted");
    for (const std::string_view section : {"feed", "channel", "shared"}) each_table(section, &Files::look_at_secrets);
    each_table("feed", &Files::look_at_kind);
    look_at_sources();
    if (main_.find("feed") == nullptr)
      warnings_.add({0, 0, 0},
                    "there is no [[feed]]: brimwatch run needs one to watch and refuses to start without; "
                    "brimwatch replay needs none");
  }

 private:
  using Look = void (Files::*)(std::string_view section, const Value& table);

  /// The text of a key of a table, where there is one.
  static const Value* text_of(const Value& table, std::string_view key) {
    const Entry* entry = table.kind == Value::Kind::table ? table.find(key) : nullptr;
    return entry != nullptr && entry->value.kind == Value::Kind::text ? &entry->value : nullptr;
  }

  [[nodiscard]] const Value* text_in(std::string_view section, std::string_view key) const {
    const Entry* entry = main_.find(section);
    return entry == nullptr ? nullptr : text_of(entry->value, key);
  }

  [[nodiscard]] std::string path(const Value& named) const { return absolute_path(named.text, directory_, home_); }

  void each_table(std::string_view section, Look each) {
    const Entry* entry = main_.find(section);
    if (entry == nullptr) return;
    if (entry->value.kind == Value::Kind::table) (this->*each)(section, entry->value);
    for (const Value& item : entry->value.items) (this->*each)(section, item);
  }

  void look_at_daily() {
    const Value* daily = text_in("history", "daily");
    std::error_code error;
    if (daily == nullptr || std::filesystem::is_directory(path(*daily), error)) return;
    warnings_.add(daily->place, "[history]: daily: there is no directory " + in_quotes(path(*daily)) +
                                    "; normal volumes come from the watch lists only");
  }

  void look_at_table(std::string_view section, std::string_view key, std::string_view so_that) {
    const Value* file = text_in(section, key);
    if (file == nullptr || ::access(path(*file).c_str(), R_OK) == 0) return;
    const std::string why = std::strerror(errno);
    warnings_.add(file->place, "[" + std::string(section) + "]: " + std::string(key) + ": " + in_quotes(path(*file)) +
                                   " cannot be read: " + why + "; " + std::string(so_that));
  }

  /// `channel "mail": `
  static std::string head_of(std::string_view section, const Value& table) {
    const Value* name = text_of(table, "name");
    if (name == nullptr) name = text_of(table, "kind");
    return std::string(section) + (name == nullptr ? "" : " " + in_quotes(name->text)) + ": ";
  }

  /// Read as it will be at the moment of use, since only that knows what stands in the way; the secret is let go at once.
  void look_at_secrets(std::string_view section, const Value& table) {
    for (const std::string_view key : {"secret", "password"}) {
      const Entry* entry = table.kind == Value::Kind::table ? table.find(key) : nullptr;
      const Value* file = entry == nullptr ? nullptr : text_of(entry->value, "file");
      if (file == nullptr) continue;
      if (const auto read = read_secret({SecretSource::Kind::file, path(*file)}); !read)
        warnings_.add(file->place, head_of(section, table) + std::string(key) + ": " + read.error().text);
    }
  }

  /// The keys of [history.source] and its like.
  void look_at_sources() {
    const Entry* history = main_.find("history");
    if (history == nullptr || history->value.kind != Value::Kind::table) return;
    for (const std::string_view key : {"source", "splits_source", "earnings_source"}) {
      const Entry* source = history->value.find(key);
      if (source != nullptr) look_at_secrets("[history." + std::string(key) + "]", source->value);
    }
  }

  void look_at_kind(std::string_view section, const Value& table) {
    const Value* kind = text_of(table, "kind");
    const Entry* enabled = kind != nullptr ? table.find("enabled") : nullptr;
    const bool off = enabled != nullptr && enabled->value.kind == Value::Kind::boolean && !enabled->value.boolean;
    if (kind == nullptr || kind->text != "tape" || off) return;
    warnings_.add(kind->place,
                  head_of(section, table) +
                      "kind: brimwatch run leaves a feed of the kind \"tape\" out; it is for brimwatch replay");
  }

  const Value& main_;
  const std::string directory_, home_;
  Problems& warnings_;
};

}  // namespace

void check_files(const Value& main, const Reading& reading, Problems& warnings) {
  Files(main, reading.directory, reading.home, warnings).look();
}

}  // namespace brimwatch
