#include "config/init.h"

#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <system_error>

#include "config/embedded.h"
#include "config/paths.h"
#include "config/reading/text.h"
#include "config/sections/schema.h"
#include "files/own_files.h"

namespace brimwatch {
namespace {

namespace fs = std::filesystem;

struct NewFile {
  std::string path, text;
};

std::string replaced(std::string text, std::string_view what, const std::string& with) {
  for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + with.size())) {
    text.replace(at, what.size(), with);
  }
  return text;
}

/// The packaged unit, for the program and the configuration at hand.
std::string unit_text(std::string text, const InitPlan& plan, const std::string& main) {
  for (const char* verb : {"ExecStart=/usr/bin/brimwatch run", "ExecReload=/usr/bin/brimwatch reload"}) {
    const std::string line = verb, key = line.substr(0, line.find('=') + 1), word = line.substr(line.rfind(' '));
    text = replaced(std::move(text), line, key + unit_word(plan.program) + word + " --config " + unit_word(main));
  }
  return text;
}

/// The samples speak of a user's own daemon. The system's has no desktop and no home, and another systemctl.
std::string for_the_system(std::string text) {
  text = replaced(std::move(text), "[[channel]]\nkind = \"desktop\"\n", "#[[channel]]\n#kind = \"desktop\"\n");
  text = replaced(std::move(text), "systemctl --user", "systemctl");
  for (const char* own : {"~/.local/state/brimwatch", "~/brimwatch"})
    text = replaced(std::move(text), own, "/var/lib/brimwatch");
  return text;
}

/// Where the package of the program PREFIX/bin/brimwatch has its unit; empty where there is none.
std::string packaged_unit(const std::string& program, const char* kind) {
  const fs::path prefix = fs::path(program).parent_path().parent_path();
  const std::string unit = (prefix / "lib/systemd" / kind / "brimwatch.service").string();
  std::error_code failed;
  return fs::exists(unit, failed) ? unit : "";
}

std::vector<NewFile> new_files(const InitPlan& plan) {
  std::vector<NewFile> files, units;
  const std::string main = plan.directory + "/brimwatch.toml";
  for (const EmbeddedFile& sample : embedded_samples()) {
    const bool unit = sample.name.ends_with(".service");
    if (unit && (plan.shared || !plan.packaged_unit.empty())) continue;  // the package has it
    std::string text(sample.text);
    if (unit) text = unit_text(std::move(text), plan, main);
    else if (plan.shared) text = for_the_system(std::move(text));
    const std::string& folder = unit ? plan.unit_directory : plan.directory;
    (unit ? units : files).push_back({folder + "/" + std::string(sample.name), std::move(text)});
  }
  files.push_back({plan.directory + "/brimwatch.schema.json", json_schema()});
  files.insert(files.end(), units.begin(), units.end());
  return files;
}

bool make_directory(const fs::path& path, bool shared) {
  if (!shared) return make_private_directory(path);
  return ::mkdir(path.c_str(), 0755) == 0 || errno == EEXIST;
}

Status write_file(const NewFile& file, bool shared) {
  if (!make_directory(fs::path(file.path).parent_path(), shared)) {
    return fail(fs::path(file.path).parent_path().string() + ": the folder cannot be made (" + std::strerror(errno) +
                ")");
  }
  return replace_file(file.path, file.text, shared ? 0644 : 0600);
}

/// `path` with what is there kept as path.old.
Status keep_old(const std::string& path) {
  const Status kept = rename_aside(path, path + ".old");
  return kept ? kept : fail(kept.error().text + "; nothing was written");
}

std::string there_already(const std::vector<NewFile>& files) {
  std::string names;
  for (const NewFile& file : files) {
    std::error_code failed;
    if (fs::exists(file.path, failed)) names.append(names.empty() ? "" : ", ").append(file.path);
  }
  return names;
}

}  // namespace

std::string unit_word(std::string_view path) {
  std::string out;
  bool quotes = false;
  for (const char c : path) {
    quotes = quotes || c == ' ' || c == '\t' || c == '"' || c == '\'' || c == '\\' || c == ';';
    if (c == '"' || c == '\\') out += '\\';
    if (c == '%' || c == '$') out += c;
    out += c;
  }
  return quotes ? std::string("\"").append(out).append("\"") : out;
}

InitPlan plan_init(const std::string& directory, bool force) {
  InitPlan plan;
  plan.force = force;
  std::error_code failed;
  plan.program = fs::read_symlink("/proc/self/exe", failed).string();
  if (failed) plan.program = "brimwatch";
  if (directory.empty()) {
    plan.directory = places().config;
    plan.unit_directory = fs::path(plan.directory).parent_path().string() + "/systemd/user";
    plan.packaged_unit = packaged_unit(plan.program, "user");
  } else {
    plan.directory = absolute_path(directory, current_directory(), home_directory());
    while (plan.directory.size() > 1 && plan.directory.back() == '/') plan.directory.pop_back();
    plan.unit_directory = plan.directory;
  }
  return plan;
}

InitPlan plan_system_init(const std::string& directory, bool force) {
  InitPlan plan = plan_init(directory.empty() ? system_places().config : directory, force);
  plan.shared = true;
  plan.packaged_unit = directory.empty() ? packaged_unit(plan.program, "system") : "";
  return plan;
}

std::string unit_in_the_way(const InitPlan& plan) {
  if (plan.shared || plan.packaged_unit.empty()) return {};
  const std::string own = plan.unit_directory + "/brimwatch.service";
  std::error_code failed;
  return fs::exists(own, failed) ? own : "";
}

Result<std::vector<std::string>> write_first_files(const InitPlan& plan) {
  const std::vector<NewFile> files = new_files(plan);
  if (!plan.force) {
    const std::string there = there_already(files);
    if (!there.empty())
      return fail("there already: " + there +
                  "; nothing was written; --force replaces them and keeps the old ones as NAME.old");
  }
  std::vector<std::string> written;
  for (const NewFile& file : files) {
    if (const Status kept = keep_old(file.path); !kept) return fail(kept.error().text);
    if (const Status done = write_file(file, plan.shared); !done) return fail(done.error().text);
    written.push_back(file.path);
  }
  return written;
}

}  // namespace brimwatch
