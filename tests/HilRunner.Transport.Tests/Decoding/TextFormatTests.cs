using System.Text;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;
using HilRunner.Testing;
using HilRunner.Transport.Decoding;

namespace HilRunner.Transport.Tests.Decoding;

public class TextFormatTests
{
    [Test]
    public void Every_kind_of_message_is_decoded()
    {
        using IDeviceDecoder decoder = New(Devices.Lines);
        Messages read = Messages.Decode(decoder,
            "boot 1.2.0\nid tag 1.2.0 ab12 slot 1\nt 7 4294967295\nk 256\nd 3 -1 2 1000\r\nc 12 1 250000 0.75\nc 13 unheard\n"u8, 1);
        DeviceMessage[] all = [.. read.All];
        Assert.That(all.Select(m => m.Kind), Is.EqualTo(new[]
        {
            MessageKind.Booted, MessageKind.Identity, MessageKind.Clock, MessageKind.Credit, MessageKind.Sample, MessageKind.Decision, MessageKind.Decision,
        }));
        Assert.Multiple(() =>
        {
            Assert.That(all[0].Fields, Is.EqualTo(new Dictionary<string, string> { ["version"] = "1.2.0" }));
            Assert.That(all[1].Fields, Is.EqualTo(new Dictionary<string, string> { ["product"] = "tag", ["version"] = "1.2.0", ["image"] = "ab12", ["slot"] = "1" }));
            Assert.That((all[2].Token, all[2].Ticks), Is.EqualTo(((ulong?)7, (ulong?)4294967295)));
            Assert.That(all[3].N, Is.EqualTo(256));
            Assert.That((all[4].N, read.Values[4]), Is.EqualTo(((long?)3, new double[] { -1, 2, 1000 })));
            Assert.That((all[5].Class, all[5].N, all[5].Ticks, all[5].Confidence), Is.EqualTo(("carried", (long?)12, (ulong?)250000, (double?)0.75)));
            Assert.That((all[6].UnknownClass, all[6].N, all[6].Ticks, all[6].Confidence),
                Is.EqualTo(("unheard", (long?)13, (ulong?)null, (double?)null)));
            Assert.That((all[0].FirstByte, all[0].LastByte, all[0].WireLength), Is.EqualTo((new HostTime(0), new HostTime(10), 11)));
            Assert.That(decoder.Counts, Is.EqualTo(new DecoderCounts(7, 0, 0, 0)));
        });
    }

    [Test]
    public void What_no_pattern_knows_is_counted_and_never_a_decision()
    {
        using IDeviceDecoder decoder = New(Devices.Lines);
        string tooLong = new('1', 5000);
        byte[] bytes =
        [
            .. Encoding.ASCII.GetBytes($"c 1\nc 99999999999999999999 1\nc 1 1 1 1.2.3\nx\n{tooLong}\n"), 0xFF, 0xFE, (byte)'\n', .. "\u00e9\nk 1\n"u8,
        ];
        Messages read = Messages.Decode(decoder, bytes);
        Assert.That(read.All.Single().Kind, Is.EqualTo(MessageKind.Credit));
        Assert.That(decoder.Counts, Is.EqualTo(new DecoderCounts(1, 1, 6, tooLong.Length + 1)));
    }

    [Test]
    public void One_line_may_hold_several_outputs_and_within_one_the_first_pattern_counts()
    {
        DeviceDescription device = Devices.Says(says => says with
        {
            Decisions =
            [
                new("handling", Devices.Pattern(@"^m (?<class>\d+) \d+$"), new(0x07, 0), null),
                new("state", Devices.Pattern(@"^m \d+ (?<class>\d+)$"), null, new Dictionary<string, string> { ["1"] = "loose" }),
                new("handling", Devices.Pattern("^m (?<class>.*)$"), null, null),
            ],
        });
        using IDeviceDecoder decoder = New(device);
        Messages read = Messages.Decode(decoder, "m 11 01\nm idle\n"u8);
        Assert.That(read.All.Select(m => (m.Output, m.Class ?? m.UnknownClass)),
            Is.EqualTo(new[] { (0, "dropped"), (1, "loose"), (0, "idle") }));
    }

    [Test]
    public void A_class_of_letters_that_are_not_ascii_is_read()
    {
        using IDeviceDecoder decoder = New(Devices.Lines);
        Assert.That(Messages.Decode(decoder, "c 5 h\u00fcpft 8\n"u8).All.Single().UnknownClass, Is.EqualTo("h\u00fcpft"));
        Assert.That(Messages.Decode(decoder, "c 5 h\u00fcpft 8\n"u8).All.Single().Ticks, Is.EqualTo(8UL));
    }

    [Test]
    public void Noise_of_class_names_does_not_fill_the_memory()
    {
        using IDeviceDecoder decoder = New(Devices.Lines);
        for (int i = 0; i < 3 * ClassNames.Capacity; i++)
        {
            Assert.That(Messages.Decode(decoder, Encoding.ASCII.GetBytes($"c {i} w{i}\n")).All.Single().UnknownClass,
                Is.EqualTo($"w{i}"));
        }
        Assert.That(Messages.Decode(decoder, "c 1 2\n"u8).All.Single().Class, Is.EqualTo("conveyed"));
    }

    [Test]
    public void What_is_sent_follows_the_templates()
    {
        DeviceDescription device = Devices.Lines with
        {
            Hears = Devices.Lines.Hears with { Sample = Devices.Text("{{{n}:{count}[[ {n}={ax},{ay},{az};]]}}"), SamplesPerMessage = 3, End = Devices.Text("end {count}") },
        };
        using IDeviceFormat format = new DeviceFormatFactory().Create(device);
        int[][] counts = [[1, 2, 3, 4], [-5, -6, -7, -8], [1000, 1001, 1002, 1003]];
        Assert.Multiple(() =>
        {
            Assert.That(Encoding.ASCII.GetString(format.Begin(new(50_000), 4)), Is.EqualTo("begin 50000\n"));
            Assert.That(Encoding.ASCII.GetString(format.Samples(counts, 1, 3)), Is.EqualTo("{1:3 1=2,-6,1001; 2=3,-7,1002; 3=4,-8,1003;}\n"));
            Assert.That(Encoding.ASCII.GetString(format.Samples(counts, 3, 1)), Is.EqualTo("{3:1 3=4,-8,1003;}\n"));
            Assert.That(Encoding.ASCII.GetString(format.End(4)), Is.EqualTo("end 4\n"));
            Assert.That(Encoding.ASCII.GetString(format.Message(device.Clock!.Ask, ulong.MaxValue)), Is.EqualTo("t 18446744073709551615\n"));
            Assert.That(Encoding.ASCII.GetString(format.Message(Devices.Text("\n"))), Is.EqualTo("\n"));
        });
        using IDeviceFormat plain = new DeviceFormatFactory().Create(Devices.Lines with { Hears = Devices.Lines.Hears with { Begin = null, End = null } });
        Assert.That(plain.Begin(new(50_000), 1), Is.Empty);
        Assert.That(Encoding.ASCII.GetString(plain.Samples(counts, 2, 1)), Is.EqualTo("s 2 3 -7 1002\n"));
    }

    [Test]
    public void Decoding_decisions_and_credit_allocates_nothing()
    {
        using IDeviceDecoder decoder = New(Devices.Lines);
        byte[] bytes = [.. "c 12 1 250000 0.75\nk 256\nc 13 resting\nk 300\nd 4 1 2 3\nnoise\n"u8];
        var counter = new CountingSink();
        for (int i = 0; i < 2000; i++) { decoder.Feed(bytes, new(i), counter); }
        long allocated = Allocated.Least(() =>
        {
            counter.Count = 0;
            for (int i = 0; i < 20_000; i++) { decoder.Feed(bytes, new(i), counter); }
        });
        Assert.That(allocated, Is.Zero);
        Assert.That(counter.Count, Is.EqualTo(100_000));
    }

    private static readonly (string Name, DeviceDescription Device, string Says)[] Refused =
    [
        ("no class", Devices.Says(s => s with { Decisions = [new("a", Devices.Pattern(@"^c (?<n>\d+)$"), null, null)] }), "nothing named class"),
        ("not a pattern", Devices.Says(s => s with { Credit = Devices.Pattern("^k (?<n>\\d+$") }), "says: credit: \"^k (?<n>\\d+$\" is no regular expression"),
        ("no n", Devices.Says(s => s with { Credit = Devices.Pattern("^k$") }), "says no number; expected one of n, batch"),
        ("no axis", Devices.Says(s => s with { Sample = Devices.Pattern(@"^d (?<ax>\d+) (?<ay>\d+)$") }), "nothing named az"),
        ("two times", Devices.Says(s => s with { Decisions = [new("a", Devices.Pattern(@"^(?<class>\w+) (?<t_us>\d+) (?<ticks>\d+)$"), null, null)] }), "only one of them"),
        ("other unit", Devices.Says(s => s with { Decisions = [new("a", Devices.Pattern(@"^(?<class>\w+) (?<t_ms>\d+)$"), null, null)] }), "expected the same unit"),
        ("unknown name", Devices.Lines with { Hears = new() { Sample = Devices.Text("s {x}") } },
            "hears: sample: unknown name x; expected one of n, batch, count, ax, ay, az"),
        ("single brace", Devices.Lines with { Hears = new() { Sample = Devices.Text("s }") } }, "single }"),
        ("no block", Devices.Lines with { Hears = Devices.Lines.Hears with { SamplesPerMessage = 2 } }, "no [[ ]]"),
        ("half a block", Devices.Lines with { Hears = new() { Sample = Devices.Text("s [[ {ax}") } }, "[[ ]] is not used as expected"),
        ("axis outside", Devices.Lines with { Hears = new() { SamplesPerMessage = 2, Sample = Devices.Text("{ax}[[{ay}]]") } }, "outside the repeated part"),
        ("fields in a line", Devices.Says(s => s with { Credit = Devices.Layout(1, new BinaryField("n", FieldType.U8)) }), "fields in a line of text"),
        ("too many", Devices.Lines with { Hears = Devices.Lines.Hears with { SamplesPerMessage = 1025 } }, "samples_per_message 1025"),
        ("check sum", Devices.Lines with { Framing = new(FramingKind.Lines) { Crc = "CRC-16/ARC" } }, "a line has no check sum"),
    ];

    [Test]
    public void A_description_that_cannot_be_used_is_refused_with_its_place([Range(0, 13)] int index)
    {
        (string name, DeviceDescription device, string says) = Refused[index];
        Assert.That(() => new DeviceFormatFactory().Create(device), Throws.TypeOf<InvalidDataException>().With.Message.Contains(says), name);
    }

    private static IDeviceDecoder New(DeviceDescription device)
    {
        using IDeviceFormat format = new DeviceFormatFactory().Create(device);
        return format.NewDecoder();
    }

    internal sealed class CountingSink : IMessageSink
    {
        public int Count { get; set; }

        public void OnMessage(in DeviceMessage message) => Count++;
    }
}
