using CsCheck;
using HilRunner.Core.Tests.Documents;
using HilRunner.Core.Rigs;

namespace HilRunner.Core.Tests.Rigs;

/// <summary>What a bad rig file is told: place, what was found, what was expected, what to do.</summary>
internal sealed class RigFaultTests
{
    [TestCase("stale_after: 5 s ", "stale_after: ¦5 ", "device.stale_after is \"5\" without a unit; expected a duration with its unit, such as 12 s or 200 ms")]
    [TestCase("stale_after: 5 s ", "stale_after: ¦5 Hz ", "device.stale_after is the unit \"Hz\" in \"5 Hz\" (known here: s, ms, us, µs, ns, min, h); expected a duration with its unit, such as 12 s or 200 ms")]
    [TestCase("stale_after: 5 s ", "stale_after: ¦0 s ", "device.stale_after is \"0 s\"; expected a duration above 0 s, at most 24 h")]
    [TestCase("stale_after: 5 s ", "¦stale_afer: 5 s ", "unknown key \"stale_afer\" in device; expected one of link, on_open, framing, hears, says, classes, quiet, stale_after, poll, input, identity, clock, wake, pace; did you mean stale_after?")]
    [TestCase("framing: lines ", "framing: ¦line ", "device.framing is \"line\"; expected one of lines, cobs, slip, hdlc; did you mean lines?")]
    [TestCase("framing: lines ", "framing: ¦[lines] ", "device.framing is a list; expected a framing: lines, cobs, slip, hdlc, or a map such as {cobs: {crc: CRC-16/IBM-3740}}")]
    [TestCase("framing: lines ", "framing: {cobs: {crc: ¦CRC-16/IBM-3470}} ", "device.framing.cobs.crc is \"CRC-16/IBM-3470\"; expected one of CRC-8/SMBUS, CRC-8 poly 2F, CRC-16/ARC, CRC-16/MODBUS, CRC-16/USB, CRC-16/XMODEM, CRC-16/IBM-3740, CRC-16/GENIBUS, CRC-16 poly 1021 init 1D0F, CRC-16/KERMIT, CRC-16/IBM-SDLC, CRC-16 poly 1021 reflected, no final xor, CRC-32/ISO-HDLC, CRC-32/ISCSI, CRC-32/BZIP2, CRC-32/MPEG-2, CRC-32/JAMCRC; did you mean CRC-16/IBM-3740?")]
    [TestCase("framing: lines ", "framing: ¦{lines: {}, cobs: {}} ", "device.framing is a map with lines and cobs; expected a framing: one of lines, cobs, slip, hdlc, length, adapter; give exactly one of them")]
    [TestCase("baud: 115200", "baud: ¦fast", "device.link.serial.baud is \"fast\"; expected a whole number from 50 to 20000000")]
    [TestCase("baud: 115200", "baud: ¦10", "device.link.serial.baud is \"10\"; expected a whole number from 50 to 20000000")]
    [TestCase("{port: \"usb:1209:0001:A7F3\", baud: 115200}", "¦{port: \"usb:1209:0001:A7F3\"}", "no baud in device.link.serial; expected baud: a whole number from 50 to 20000000")]
    [TestCase("\"usb:1209:0001:A7F3\"", "¦\"usb:1209\"", "device.link.serial.port is \"usb:1209\"; expected usb:VID:PID[:SERIAL][:INTERFACE] with hexadecimal ids of four digits, such as usb:1209:0001:A7F3")]
    [TestCase("link: {serial:", "link: {¦seral:", "unknown key \"seral\" in device.link; expected a link: one of serial, pty, tcp, process, builtin; did you mean serial?")]
    [TestCase("'^c (?<n>\\d+) (?<class>\\w+)", "¦'^c (?<n>\\d+) (?<clas>\\w+)", "no group class in device.says.decisions.activity; expected a regular expression that names class; rename the group that was meant to be class")]
    [TestCase("'^k (?<n>\\d+)$'", "¦'^k (?<n>\\d+$'",
        "device.says.credit is no regular expression (InsufficientClosingParentheses, at character 13); expected a regular expression that names one of n, batch")]
    [TestCase("'^k (?<n>\\d+)$'", "¦'^k (\\d+)$'",
        "no group n or batch in device.says.credit; expected a regular expression that names one of n, batch")]
    [TestCase("'^t (?<token>\\d+) ", "¦'^t \\d+ ", "no group token in device.clock.answer; expected a regular expression that names token and one of t_us, t_ms, ticks")]
    [TestCase("'^t (?<token>\\d+) (?<t_us>\\d+)$'", "¦'^t (?<token>\\d+) (?<ticks>\\d+)$'", "ticks without tick in device.clock; expected tick: the length of one, such as 1 us")]
    [TestCase("bits: 32", "bits: ¦4", "device.clock.bits is \"4\"; expected a whole number from 8 to 64")]
    [TestCase("\"begin {rate_mhz}", "¦\"begin {rate}", "unknown placeholder {rate} in device.hears.begin; expected the placeholders {rate_mhz} {count}")]
    [TestCase("\"begin {rate_mhz}", "¦\"begin {rate_mhz", "device.hears.begin is \"begin {rate_mhz\", with a single {; expected the placeholders {rate_mhz} {count}; write {{ to send a brace")]
    [TestCase("\"s {n} {ax} {ay} {az}\"", "¦\"s {n} {ax} {ay}\"", "the channel az is missing from hears.sample; expected every channel of input: ax, ay, az")]
    [TestCase("\"s {n} {ax} {ay} {az}\"", "¦\"s {n} {ax} {ay} {az}\"\n    samples_per_message: 8", "hears.sample repeats nothing; expected a part in [[ ]] (or repeat, in a binary frame) for samples_per_message above 1")]
    [TestCase("ax: {count: 1 mg", "ax: {count: ¦1 dps", "device.input.channels.ax.count is the unit \"dps\" in \"1 dps\" (known here: g, mg, m/s2, m/s²); expected an acceleration with its unit, such as 1 mg or 0.3 g")]
    [TestCase("ax: {count: 1 mg, range: 8 g}", "¦a: {count: 1 mg, range: 8 g}", "unknown key \"a\" in device.input.channels; expected one of ax, ay, az, gx, gy, gz; did you mean ax?")]
    [TestCase("wait: 2 s, until: booted", "until: ¦booted", "until without wait in device.on_open; expected wait: how long at most, such as 2 s")]
    [TestCase("{0: resting, ", "{0: resting, ¦0x0: still, ", "the value 0 a second time in device.classes; expected each value once")]
    [TestCase("{0: resting, ", "{mask: ¦0x07, shift: 62, 0: resting, ", "device.classes.mask is 0x7 at shift 62; expected a mask that stays within 64 bits when shifted; the mask applies after the shift")]
    [TestCase("3: dropped}", "3: ¦(none)}", "device.classes.3 is (none); expected another class name; it stands for: nothing decided yet")]
    [TestCase("prepare: []", "prepare: [¦[flash, \"{file}\"]]", "unknown placeholder {file} in prepare[0]; expected {image}, the firmware file; {port}, the path of the rig's port; or {rig}, the rig's name")]
    [TestCase("prepare: []", "prepare: [¦[unlock, --rdp, \"1\"]]", "--rdp in prepare[0], which may be beyond undoing; expected no step that burns fuses or locks read-out; of a step that does not, what it erases; remove it, or say erases: nothing, firmware or data")]
    [TestCase("prepare: []", "prepare: ¦[{supply: cycle}]", "a step that switches a supply, and no supply; expected supply: how to reach it, and what it may feed; add it to the rig")]
    [TestCase("prepare: []", "read_back: ¦[read, out.bin]", "a read_back without {kept}; expected {kept} where the program is told the file to write")]
    [TestCase("prepare: []", "supply: {scpi: {tcp: \"bench:5025\"}, voltage: 3.6 V, current: 100 mA, envelope: {at_least: 3 V, at_most: 4.2 V, current: 200 mA}, cell: ¦fitted}", "a supply for a device with its cell fitted; expected cell: removed; take the cell out first, as the maker says: a supply that feeds back into a cell can set it on fire")]
    [TestCase("prepare: []", "supply: {scpi: {tcp: \"bench:5025\"}, voltage: ¦5 V, current: 100 mA, envelope: {at_least: 3 V, at_most: 4.2 V, current: 200 mA}, cell: removed}", "5 V at 0.1 A, outside the supply's envelope; expected 3 V to 4.2 V, at most 0.2 A; correct the one that is wrong")]
    [TestCase("prepare: []", "¦rig: again\nprepare: []", "rig a second time; expected each key once (first on line 1); remove one of them")]
    [TestCase("before_each: {", "before_each: ¦&reset {", "the anchor &reset at before_each; expected no anchors; remove it: aliases are not read")]
    [TestCase("health: {late: 5 ms", "health: {late: ¦*late", "the alias *late for health.late; expected the value itself; write it out: aliases are not read")]
    [TestCase("rig: bench-1\n", "rig:¦\n", "rig is empty; expected the rig's name")]
    [TestCase("wake: {send", "pace: ¦credits\n  wake: {send", "device.pace is \"credits\"; expected one of host, credit, device; did you mean credit?")]
    public void A_fault_names_place_finding_and_remedy(string good, string bad, string expected)
    {
        var (text, place) = MarkedText.Change(RigFileTests.Bench, good, bad);
        var faults = Assert.Throws<BadInputException>(() => RigFile.Parse(text, "bench.yaml"))!.Faults;
        Assert.That(faults.Select(f => f.ToString()), Does.Contain($"bench.yaml:{place}: {expected}"));
    }

    /// <summary>A folder with a random name had these letters in it.</summary>
    [Test]
    public void The_folder_of_a_program_says_nothing_of_what_it_does()
    {
        string text = RigFileTests.Bench.Replace("prepare: []", "prepare: [[/tmp/hil-AGFOTP/switch, on]]", StringComparison.Ordinal);
        Assert.That(RigFile.Parse(text, "bench.yaml").Prepare, Has.Count.EqualTo(1));
        Assert.That(() => RigFile.Parse(text.Replace("switch", "burn-otp", StringComparison.Ordinal), "bench.yaml"), Throws.TypeOf<BadInputException>());
    }

    [Test]
    public void All_faults_of_a_file_are_told_at_once_in_its_order()
    {
        string text = RigFileTests.Bench.Replace("baud: 115200", "baud: 115200 Bd", StringComparison.Ordinal)
            .Replace("framing: lines", "framing: morse", StringComparison.Ordinal)
            .Replace("(?<class>", "(?<kind>", StringComparison.Ordinal)
            .Replace("every: 200 ms", "every: 200", StringComparison.Ordinal)
            .Replace("health: {late", "heath: {late", StringComparison.Ordinal);
        var faults = Assert.Throws<BadInputException>(() => RigFile.Parse(text, "bench.yaml"))!.Faults;
        Assert.That(faults.Select(f => f.Line), Is.EqualTo(new[] { 3, 5, 12, 12, 18, 25 }), string.Join('\n', faults));
    }

    [Test]
    public void Waiting_for_a_message_that_is_not_described_is_told()
    {
        string text = RigFileTests.Bench.Replace("    booted: '^boot (?<version>\\S+)'\n", "", StringComparison.Ordinal);
        Assert.That(Assert.Throws<BadInputException>(() => RigFile.Parse(text, "bench.yaml"))!.Message,
            Is.EqualTo("bench.yaml:4:12: on_open waits for booted; expected a message that device.says describes; add booted under says"));
    }

    [TestCase("rig: a\n\tdevice: b\n", 2, "tabs")]
    [TestCase("rig: [a, b\n", 2, "bracket")]
    [TestCase("rig: \"a\n", 1, "quote")]
    [TestCase("", 0, "")]
    [TestCase("- a\n- b\n", 1, "")]
    [TestCase("rig: a\n---\nrig: b\n", 2, "file of its own")]
    public void What_is_no_YAML_map_is_told_with_its_line(string text, int line, string remedy)
    {
        var faults = Assert.Throws<BadInputException>(() => RigFile.Parse(text, "bench.yaml"))!.Faults;
        Assert.That(faults.Any(f => f.Line == line && f.Remedy.Contains(remedy, StringComparison.Ordinal)), string.Join('\n', faults));
    }

    [Test]
    public void Deep_nesting_and_a_flood_of_faults_stay_bounded()
    {
        string deep = "rig: " + new string('[', 5_000) + new string(']', 5_000);
        string many = "rig: a\n" + string.Concat(Enumerable.Range(0, 5_000).Select(i => $"k{i}: 1\n"));
        Assert.Multiple(() =>
        {
            Assert.That(Assert.Throws<BadInputException>(() => RigFile.Parse(deep, "deep.yaml"))!.Message,
                Does.Contain("nested deeper than 48"));
            var faults = Assert.Throws<BadInputException>(() => RigFile.Parse(many, "many.yaml"))!.Faults;
            Assert.That(faults, Has.Count.EqualTo(26));
            Assert.That(faults[^1].Found, Is.EqualTo("4976 more faults beyond the 25 listed"));
        });
    }

    [Test]
    public void Damaged_text_is_refused_or_read_and_never_anything_else() =>
        Gen.Select(Gen.Int[0, RigFileTests.Bench.Length - 1], Gen.Int[0, 5], Gen.String[Gen.Char["ab01:,-?#&*!|>%@`'\"{}[]()\\ \t\r\n~\u0001\u0085\ufeff"], 0, 4]).Sample((at, gone, put) =>
        {
            string text = RigFileTests.Bench[..at] + put + RigFileTests.Bench[Math.Min(at + gone, RigFileTests.Bench.Length)..];
            try { RigFile.Parse(text, "bench.yaml"); }
            catch (BadInputException e) { Assert.That(e.Faults, Is.Not.Empty); }
        }, iter: 5_000);

    /// <summary>The parser's scanner leaves this text with an exception of its own, which once went through to the user.</summary>
    [Test]
    public void A_missing_bracket_before_a_comment_is_a_fault_of_the_file()
    {
        string text = RigFileTests.Bench.Replace("115200}}", "115200}", StringComparison.Ordinal);
        var fault = Assert.Throws<BadInputException>(() => RigFile.Parse(text, "bench.yaml"))!.Faults[0];
        Assert.Multiple(() =>
        {
            Assert.That(fault.Line, Is.InRange(3, 5));
            Assert.That(fault.Remedy, Does.Contain("bracket"));
        });
    }

    [Test]
    public void A_missing_file_is_told_as_such() =>
        Assert.That(Assert.Throws<BadInputException>(() => RigFile.Read("no/such.yaml"))!.Message, Does.StartWith("no/such.yaml: no such file"));
}
