# The page: its server and its files. Without libmicrohttpd, libqrencode or npm, or with
# -DPAGE=OFF, the program is built without it and says what is missing.
option(PAGE "the local page (needs libmicrohttpd, libqrencode and npm)" ON)
set(PAGE_MISSING "")
if(PAGE)
  pkg_check_modules(MICROHTTPD IMPORTED_TARGET libmicrohttpd)
  pkg_check_modules(QRENCODE IMPORTED_TARGET libqrencode)
  find_program(NPM npm)
  find_program(NODE NAMES node nodejs)
  foreach(part MICROHTTPD_FOUND QRENCODE_FOUND NPM NODE)
    if(NOT ${part})
      string(APPEND PAGE_MISSING " ${part}")
    endif()
  endforeach()
  string(REPLACE "_FOUND" "" PAGE_MISSING "${PAGE_MISSING}")
else()
  set(PAGE_MISSING " -DPAGE=OFF")
endif()

if(PAGE_MISSING)
  message(STATUS "the page is left out:${PAGE_MISSING}")
  target_sources(program PRIVATE src/page/missing/page_missing.c)
else()
  file(GLOB PAGE_SOURCES CONFIGURE_DEPENDS src/page/*.c)
  file(GLOB PAGE_WEB CONFIGURE_DEPENDS src/page/web/*.js src/page/web/*.css
       src/page/web/*.html src/page/web/*.mjs)
  set(PAGE_DIR ${CMAKE_CURRENT_BINARY_DIR}/page)
  file(MAKE_DIRECTORY ${PAGE_DIR})
  # The packages lie in the build tree, so that the source tree stays as it is.
  add_custom_command(OUTPUT ${PAGE_DIR}/npm.stamp
    COMMAND ${CMAKE_COMMAND} -E copy ${CMAKE_CURRENT_SOURCE_DIR}/src/page/web/package.json
      ${CMAKE_CURRENT_SOURCE_DIR}/src/page/web/package-lock.json
      ${CMAKE_CURRENT_SOURCE_DIR}/src/page/web/.npmrc ${PAGE_DIR}
    COMMAND ${NPM} ci --prefix ${PAGE_DIR} --silent
    COMMAND ${CMAKE_COMMAND} -E touch ${PAGE_DIR}/npm.stamp
    DEPENDS src/page/web/package.json src/page/web/package-lock.json
    COMMENT "The page's packages" VERBATIM)
  add_custom_command(OUTPUT ${PAGE_DIR}/page_assets.c
    COMMAND ${CMAKE_COMMAND} -E env NODE_PATH=${PAGE_DIR}/node_modules
      ${NODE} ${CMAKE_CURRENT_SOURCE_DIR}/src/page/web/embed.mjs
      ${CMAKE_CURRENT_SOURCE_DIR}/src/page/web ${PAGE_DIR}/page_assets.c
    DEPENDS ${PAGE_DIR}/npm.stamp ${PAGE_WEB}
    COMMENT "The page's files" VERBATIM)
  add_library(page STATIC ${PAGE_SOURCES} ${PAGE_DIR}/page_assets.c)
  target_link_libraries(page PRIVATE house_options program PkgConfig::MICROHTTPD
    PkgConfig::QRENCODE)
  # The command calls the page, and the page the sittings: one after the other, and again.
  target_link_libraries(program PUBLIC page)
endif()
