# Installing the pure library: headers under include/fullminute, static and shared, for
# find_package(fullminute) and for pkg-config. Included by the CMakeLists.txt at the top.
include(CMakePackageConfigHelpers)

# What a program outside may include: the two doors and all that they include.
set(FM_PUBLIC_HEADERS fullminute fullminute_compose status result analyser provisional
  compare/agreement compare/compare compare/taps compare/reference_range
  breath/respiration_pause rhythm/interval_measures rhythm/rhythm)

# Inside the project a header is "dsp/x.h" or "dsp/subject/x.h", outside it is "fullminute/x.h":
# which subject a header belongs to may change. The functions they declare are what the shared
# library shows; everything else may change.
set(FM_HEADERS_DIR ${CMAKE_CURRENT_BINARY_DIR}/include/fullminute)
set(FM_EXPORTS "")
foreach(path IN LISTS FM_PUBLIC_HEADERS)
  set(header ${CMAKE_CURRENT_SOURCE_DIR}/dsp/${path}.h)
  get_filename_component(name ${path} NAME)
  set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${header})
  # Semicolons and brackets would part a CMake list; a file of text keeps them.
  file(READ ${header} text)
  string(REGEX REPLACE "#include \"dsp/([a-z]+/)?" "#include \"fullminute/" outside "${text}")
  file(CONFIGURE OUTPUT ${FM_HEADERS_DIR}/${name}.h CONTENT "${outside}" @ONLY)
  string(REGEX REPLACE "/\\*[^*]*\\*+([^/*][^*]*\\*+)*/" "" code "${text}")
  string(REGEX MATCHALL "fm_[a-z0-9_]+\\(" calls "${code}")
  list(APPEND FM_EXPORTS ${calls})
endforeach()
list(REMOVE_DUPLICATES FM_EXPORTS)
list(SORT FM_EXPORTS)
list(TRANSFORM FM_EXPORTS REPLACE "(fm_.*)\\(" "\\1")
string(REPLACE ";" ";\n    " FM_EXPORTS "${FM_EXPORTS}")
file(CONFIGURE OUTPUT ${CMAKE_CURRENT_BINARY_DIR}/libfullminute.map
  CONTENT "FULLMINUTE {\n  global:\n    @FM_EXPORTS@;\n  local: *;\n};\n" @ONLY)

# Before 1.0 any second number may change the structs, so it belongs to the name.
add_library(dsp_shared SHARED $<TARGET_OBJECTS:dsp>)
set_target_properties(dsp_shared PROPERTIES OUTPUT_NAME fullminute
  VERSION ${PROJECT_VERSION} SOVERSION ${PROJECT_VERSION_MAJOR}.${PROJECT_VERSION_MINOR}
  LINK_DEPENDS ${CMAKE_CURRENT_BINARY_DIR}/libfullminute.map
  LINKER_LANGUAGE C EXPORT_NAME fullminute)
target_link_options(dsp_shared PRIVATE
  LINKER:--version-script=${CMAKE_CURRENT_BINARY_DIR}/libfullminute.map)
target_link_libraries(dsp_shared PRIVATE PkgConfig::KISSFFT PkgConfig::SOXR m)
target_include_directories(dsp_shared INTERFACE
  $<BUILD_INTERFACE:${CMAKE_CURRENT_BINARY_DIR}/include>
  $<INSTALL_INTERFACE:${CMAKE_INSTALL_INCLUDEDIR}>)
set_target_properties(dsp PROPERTIES EXPORT_NAME static)
target_include_directories(dsp INTERFACE $<INSTALL_INTERFACE:${CMAKE_INSTALL_INCLUDEDIR}>)

set(FM_PACKAGE_DIR ${CMAKE_INSTALL_LIBDIR}/cmake/fullminute)
configure_package_config_file(src/cmake/fullminute-config.cmake.in
  ${CMAKE_CURRENT_BINARY_DIR}/fullminute-config.cmake INSTALL_DESTINATION ${FM_PACKAGE_DIR})
write_basic_package_version_file(
  ${CMAKE_CURRENT_BINARY_DIR}/fullminute-config-version.cmake
  COMPATIBILITY SameMinorVersion)
# Found from where it lies, so that --prefix at install time and a moved tree both work.
file(RELATIVE_PATH FM_PC_UP /p/${CMAKE_INSTALL_LIBDIR}/pkgconfig /p)
configure_file(src/cmake/fullminute.pc.in ${CMAKE_CURRENT_BINARY_DIR}/fullminute.pc @ONLY)

install(TARGETS dsp dsp_shared EXPORT fullminute-targets COMPONENT library
  LIBRARY NAMELINK_COMPONENT library)
install(DIRECTORY ${FM_HEADERS_DIR} DESTINATION ${CMAKE_INSTALL_INCLUDEDIR}
  COMPONENT library)
install(EXPORT fullminute-targets NAMESPACE fullminute:: DESTINATION ${FM_PACKAGE_DIR}
  COMPONENT library)
install(FILES ${CMAKE_CURRENT_BINARY_DIR}/fullminute-config.cmake
  ${CMAKE_CURRENT_BINARY_DIR}/fullminute-config-version.cmake
  DESTINATION ${FM_PACKAGE_DIR} COMPONENT library)
install(FILES ${CMAKE_CURRENT_BINARY_DIR}/fullminute.pc
  DESTINATION ${CMAKE_INSTALL_LIBDIR}/pkgconfig COMPONENT library)
