#!/bin/sh
# Reads a bag in a ZIP file as RFC 8493 says, with programs that know nothing of sayline, and says
# what is wrong. Usage: read_bag.sh BAG.zip. Sections are those of the RFC.
set -eu
zip=$1
work=$(mktemp -d "${TMPDIR:-/tmp}/sayline-bag-XXXXXX")
trap 'rm -rf "$work"' EXIT
wrong() {
    echo "$zip: $1"
    exit 1
}

unzip -tqq "$zip" >&2 || wrong "the ZIP file is broken"
unzip -Z1 "$zip" | sort >"$work/names"
# 4: the serialization holds one bag, in a folder named as the file.
base=$(basename "$zip" .zip)
if grep -v "^$base/" "$work/names"; then wrong "something lies outside of $base/"; fi
unzip -qq -d "$work" "$zip"
cd "$work/$base"

# 2.1.1: two lines, UTF-8 without a byte order mark.
printf 'BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n' | cmp -s - bagit.txt ||
    wrong "bagit.txt is not as it must be"
# 2.1.2
[ -d data ] || wrong "there is no data/"
# 2.1.3: every payload file once, nothing else, all right.
find data -type f | sort >"$work/payload"
[ -z "$(find . ! -type f ! -type d)" ] || wrong "there is a link or a device"
# 2.2.1: the other tag files, no payload, no tag manifest.
find . -maxdepth 1 -type f ! -name 'tagmanifest-*' | sed 's|^\./||' | sort >"$work/tags"
# 2.4: both kinds of checksum that every program must know, and no other.
kinds=$(find . -maxdepth 1 -name '*manifest-*' | sed 's|.*/||' | sort | tr '\n' ' ')
[ "$kinds" = "manifest-sha256.txt manifest-sha512.txt tagmanifest-sha256.txt tagmanifest-sha512.txt " ] ||
    wrong "the manifests are $kinds"
for bits in 256 512; do
    awk -v digits=$((bits / 4)) \
        '$1 !~ /^[0-9a-f]+$/ || length($1) != digits || !/^[0-9a-f]+  data\// { bad = 1 } END { exit bad }' \
        manifest-sha$bits.txt || wrong "a line of the manifest is broken"
    sed 's/^[0-9a-f]*  //; s/%0[Aa]/?/g; s/%0[Dd]/?/g; s/%25/%/g' manifest-sha$bits.txt | sort >"$work/listed"
    cmp -s "$work/listed" "$work/payload" || wrong "manifest and payload differ"
    "sha${bits}sum" --quiet --strict -c manifest-sha$bits.txt >&2 || wrong "a checksum of the payload is wrong"
    sed 's/^[0-9a-f]*  //' tagmanifest-sha$bits.txt | sort >"$work/tagged"
    cmp -s "$work/tagged" "$work/tags" || wrong "tag manifest and tag files differ"
    "sha${bits}sum" --quiet --strict -c tagmanifest-sha$bits.txt >&2 || wrong "a checksum of a tag file is wrong"
done
# 2.2.2: labels and values; the sum of the payload, and the day.
if grep -v '^[A-Za-z-]*: .' bag-info.txt; then wrong "a line of bag-info.txt is broken"; fi
octets=$(find data -type f -exec cat {} + | wc -c)
files=$(wc -l <"$work/payload")
grep -q -x "Payload-Oxum: $octets.$files" bag-info.txt || wrong "the Payload-Oxum is wrong"
day=$(sed -n 's/^Bagging-Date: //p' bag-info.txt)
[ "$(date -d "$day" +%F)" = "$day" ] || wrong "the Bagging-Date is no day"
echo "a right bag of $files files"
