# brimwatch_embed(OUT_VAR NAMESPACE FILES...): writes a .cpp that holds the files as text, so that the program finds its
# own data without being installed. The .cpp defines
#   std::span<const EmbeddedFile> brimwatch::NAMESPACE();   (see config/embedded.h)
# It is made at configure time and made anew when a file changes.
function(brimwatch_embed out_var name)
  set(cpp ${CMAKE_CURRENT_BINARY_DIR}/embedded_${name}.cpp)
  set(body "// Made by config/embed.cmake. Do not edit.\n#include \"config/embedded.h\"\n\nnamespace brimwatch {\nnamespace {\n")
  set(rows "")
  set(n 0)
  foreach(path ${ARGN})
    set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${path})
    file(READ ${path} text)
    get_filename_component(base ${path} NAME)
    string(APPEND body "constexpr char kText${n}[] = R\"brim(${text})brim\";\n")
    string(APPEND rows "    {\"${base}\", {kText${n}, sizeof kText${n} - 1}},\n")
    math(EXPR n "${n} + 1")
  endforeach()
  string(APPEND body "constexpr EmbeddedFile kFiles[] = {\n${rows}};\n}  // namespace\n\n"
         "std::span<const EmbeddedFile> ${name}() { return kFiles; }\n\n}  // namespace brimwatch\n")
  file(CONFIGURE OUTPUT ${cpp} CONTENT "${body}" @ONLY)
  brimwatch_apart(${cpp})
  set(${out_var} ${cpp} PARENT_SCOPE)
endfunction()
