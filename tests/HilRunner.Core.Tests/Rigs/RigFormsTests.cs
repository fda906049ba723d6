using HilRunner.Core.Links;
using HilRunner.Core.Rigs;
using HilRunner.Core.Tests.Documents;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Rigs;

/// <summary>The other ways in which parts of a rig may be written.</summary>
internal sealed class RigFormsTests
{
    private static IEnumerable<string> Examples => ExampleDocuments.Rigs;

    [TestCaseSource(nameof(Examples))]
    public void An_example_reads(string file) => Assert.That(RigFile.Read(Path.Combine(TestPaths.Root, file)).Name, Is.Not.Empty);

    [Test]
    public void Absent_parts_take_the_defaults_of_the_records()
    {
        Rig rig = RigFile.Parse("""
            rig: small
            device:
              link: {builtin: {model: model.yaml}}
              framing: {length: {sync: "A5 5A", length: u16be}}
              hears: {sample: {fields: [{ax: i16}]}}
              says: {decisions: {state: {fields: [{class: u8}]}}}
              input: {rate: 100 Hz, channels: {ax: {count: 2 mg, range: 4 g}}}
            health: {}
            """, "rigs/small.yaml");
        Assert.Multiple(() =>
        {
            Assert.That(rig.Health, Is.EqualTo(new HealthLimits()));
            Assert.That(rig.Device.OnOpen, Is.EqualTo(new OnOpen()));
            Assert.That(rig.Device.Link, Is.EqualTo(new BuiltinLinkSpec(new VirtualDeviceOptions { Model = "rigs/model.yaml" })));
            Assert.That(rig.Device.Framing with { Sync = default, LengthField = FieldType.U8 }, Is.EqualTo(new FramingSpec(FramingKind.Length)));
            Assert.That(rig.Device.Framing.Sync.ToArray(), Is.EqualTo(new byte[] { 0xA5, 0x5A }));
            Assert.That(rig.Device.Framing.LengthField, Is.EqualTo(FieldType.U16Be));
            Assert.That(rig.Device.Pace, Is.EqualTo(Pace.Host));
            Assert.That(rig.Device.Hears.SamplesPerMessage, Is.EqualTo(1));
            Assert.That(rig.Device.Classes, Is.Empty);
            Assert.That(rig.BeforeEach, Is.Null);
        });
    }

    /// <summary>The mask applies after the shift, so that {mask: 0x07, shift: 3} takes bits 3 to 5.</summary>
    [Test]
    public void A_bit_field_is_masked_after_the_shift()
    {
        Rig rig = RigFile.Read(Path.Combine(TestPaths.Root, "rigs/serial-binary.yaml"));
        DecisionFormat state = rig.Device.Says.Decisions[0], running = rig.Device.Says.Decisions[1];
        const ulong status = 0b0001_0101;
        Assert.Multiple(() =>
        {
            Assert.That((status & state.Field!.Mask) >> state.Field.Shift, Is.EqualTo(2));
            Assert.That(state.Classes!["2"], Is.EqualTo("unbalanced"));
            Assert.That((status & running.Field!.Mask) >> running.Field.Shift, Is.EqualTo(1));
            Assert.That(rig.Device.Outputs, Is.EqualTo(new[] { "state", "running" }));
            Assert.That(state.Message.Layout!.Fields[3], Is.EqualTo(new BinaryField("score", FieldType.U16Le, 0.001)));
            Assert.That(rig.Device.Hears.Sample!.Layout!.Repeat, Has.Count.EqualTo(6));
            Assert.That(rig.Device.Clock!.TickNs, Is.EqualTo(1_000));
            Assert.That(rig.Device.Input.Channels[3], Is.EqualTo(new InputChannel("gx", 0.1, 1_000)));
        });
    }

    [Test]
    public void A_bit_field_of_the_device_holds_for_outputs_without_their_own()
    {
        Rig rig = Changed("classes: {0: resting,", "classes: {mask: 0x03, shift: 1, 0: resting,");
        Assert.That(rig.Device.Says.Decisions[0].Field, Is.EqualTo(new BitField(0b110, 1)));
        Assert.That(rig.Device.Classes.Keys, Is.EqualTo(new[] { "0", "1", "2", "3" }));
    }

    private static IEnumerable<TestCaseData> Links()
    {
        yield return new("{pty: ../tag}", new PtyLinkSpec("rigs/../tag"));
        yield return new("{tcp: \"port-server:2001\"}", new TcpLinkSpec("port-server", 2_001));
        yield return new("{process: [./device.py, --fast]}", new ProcessLinkSpec("rigs/./device.py", ["--fast"]));
        yield return new("{process: {program: python3, args: [device.py]}}", new ProcessLinkSpec("python3", ["device.py"]));
    }

    [TestCaseSource(nameof(Links))]
    public void Links_are_relative_to_the_file(string link, LinkSpec expected) =>
        Assert.That(Changed("{serial: {port: \"usb:1209:0001:A7F3\", baud: 115200}}", link).Device.Link, Is.EqualTo(expected).UsingPropertiesComparer());

    [Test]
    public void Lines_of_on_open_reach_the_serial_link()
    {
        Rig rig = Changed("dtr: leave, rts: leave", "dtr: \"on\", rts: off");
        Assert.That(rig.Device.Link, Is.EqualTo(new SerialLinkSpec("usb:1209:0001:A7F3", 115_200) { Dtr = LineState.On, Rts = LineState.Off }));
    }

    private static IEnumerable<TestCaseData> Framings()
    {
        yield return new("{lines: {end: \"\\r\\n\", max_length: 256}}", new FramingSpec(FramingKind.Lines) { LineEnd = "\r\n", MaxLength = 256 });
        yield return new("cobs", new FramingSpec(FramingKind.Cobs));
        yield return new("{slip: {crc: \"CRC-16 poly 1021 reflected, no final xor\", crc_order: big}}",
            new FramingSpec(FramingKind.Slip) { Crc = "CRC-16 poly 1021 reflected, no final xor", CrcOrder = ByteOrder.Big });
        yield return new("hdlc", new FramingSpec(FramingKind.Hdlc));
        yield return new("{adapter: {program: \"./adapter.py\", args: []}}", new FramingSpec(FramingKind.Adapter) { Program = "rigs/./adapter.py" });
    }

    [TestCaseSource(nameof(Framings))]
    public void Framings_read(string framing, FramingSpec expected) =>
        Assert.That(Changed("framing: lines ", $"framing: {framing} ").Device.Framing, Is.EqualTo(expected).UsingPropertiesComparer());

    [Test]
    public void Preparing_commands_read_in_both_forms()
    {
        Rig rig = Changed("prepare: []", "prepare: [[flash-tag, \"{image}\"], {program: ./cycle.sh, args: [\"1\"], limit: 5 s}]");
        Assert.That(rig.Prepare, Is.EqualTo(new ProgramStep[]
        {
            new("flash-tag", ["{image}"], TimeSpan.FromMinutes(1)),
            new("rigs/./cycle.sh", ["1"], TimeSpan.FromSeconds(5)),
        }).UsingPropertiesComparer());
    }

    [Test]
    public void Every_known_check_sum_can_be_named()
    {
        foreach (string crc in KnownCrcs.Names) { Assert.That(Changed("framing: lines ", $"framing: {{cobs: {{crc: \"{crc}\"}}}} ").Device.Framing.Crc, Is.EqualTo(crc)); }
    }

    private static Rig Changed(string good, string changed)
    {
        string text = RigFileTests.Bench.Replace(good, changed, StringComparison.Ordinal);
        Assert.That(text, Is.Not.EqualTo(RigFileTests.Bench));
        return RigFile.Parse(text, "rigs/bench-1.yaml");
    }
}
