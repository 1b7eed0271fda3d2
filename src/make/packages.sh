#!/bin/sh
# Installs the Debian packages that are missing. packages.sh build: what the program and `make test`
# need. packages.sh check: what `make check` and `make bench` need besides. packages.sh samples: what
# renders the sample photos and the truth set. Quick when all is there.
set -eu
build="gcc make pkg-config libc6-dev libsdl2-dev libsdl2-image-dev libsdl2-ttf-dev libstb-dev
libsqlite3-dev libjpeg62-turbo-dev libheif-dev libexif-dev liblcms2-dev libfontconfig-dev
libcjson-dev libssl-dev zlib1g-dev libcairo2-dev libpango1.0-dev libfribidi-dev libharfbuzz-dev
libcmocka-dev fonts-inter"
check="clang libclang-rt-14-dev clang-tidy clang-format cppcheck valgrind xvfb xdotool x11-utils libx11-dev xclip
sqlite3 libgsl-dev libvips-tools libimage-exiftool-perl imagemagick python3 python3-scipy gcovr
chromium libreoffice-calc tidy qpdf poppler-utils"

samples="blender python3-numpy libimage-exiftool-perl imagemagick"

case "${1:-build}" in
build) want=$build ;;
samples) want=$samples ;;
check) want="$build $check" ;;
*) echo "usage: packages.sh build|check|samples" >&2; exit 2 ;;
esac

if ! command -v dpkg-query >/dev/null 2>&1; then
    # Not Debian: if the libraries are there, build; else say what to install.
    if command -v pkg-config >/dev/null 2>&1 && pkg-config --exists sdl2 SDL2_image SDL2_ttf \
        sqlite3 libjpeg libheif libexif lcms2 fontconfig libcjson libcrypto zlib cairo pangocairo fribidi harfbuzz; then
        exit 0
    fi
    cat >&2 <<'EOF'
Sootbook needs some libraries. This system has no apt-get; install them with one of these, then
run make again:
  dnf install gcc make pkgconf-pkg-config SDL2-devel SDL2_image-devel SDL2_ttf-devel stb-devel \
      sqlite-devel libjpeg-turbo-devel libheif-devel libexif-devel lcms2-devel fontconfig-devel \
      cjson-devel openssl-devel zlib-devel cairo-devel pango-devel fribidi-devel harfbuzz-devel \
      libcmocka-devel rsms-inter-fonts
  pacman -S base-devel sdl2 sdl2_image sdl2_ttf stb sqlite libjpeg-turbo libheif libexif lcms2 \
      fontconfig cjson openssl zlib cairo pango fribidi harfbuzz cmocka inter-font
  brew install pkg-config sdl2 sdl2_image sdl2_ttf sqlite jpeg-turbo libheif libexif little-cms2 \
      fontconfig cjson openssl zlib cairo pango fribidi harfbuzz cmocka font-inter   (and the stb headers)
EOF
    exit 1
fi

missing=
for p in $want; do
    s=$(dpkg-query -W -f='${Status}' "$p" 2>/dev/null || true)
    case "$s" in *"install ok installed"*) ;; *) missing="$missing $p" ;; esac
done
[ -z "$missing" ] && exit 0

echo "Installing:$missing"
sudo=
if [ "$(id -u)" != 0 ]; then
    if command -v sudo >/dev/null 2>&1; then
        sudo=sudo
    else
        echo "These Debian packages are missing and there is no sudo. As root, run:" >&2
        echo "  apt-get install$missing" >&2
        exit 1
    fi
fi
export DEBIAN_FRONTEND=noninteractive
$sudo apt-get update -qq || echo "apt-get update failed; trying with the lists at hand" >&2
# shellcheck disable=SC2086
$sudo apt-get install -y -qq --no-install-recommends $missing
