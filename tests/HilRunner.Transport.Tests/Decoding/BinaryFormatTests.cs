using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Testing;
using HilRunner.Transport.Decoding;
using HilRunner.Transport.Framing;
using HilRunner.Transport.Tests.Framing;

namespace HilRunner.Transport.Tests.Decoding;

public class BinaryFormatTests
{
    private static readonly FramingCodec Codec = FramingCodec.Create(Devices.Binary.Framing);

    [Test]
    public void Every_kind_of_message_is_decoded()
    {
        using IDeviceDecoder decoder = New(Devices.Binary);
        Messages read = Messages.Decode(decoder,
        [
            .. Framed("83 01 FF 02"), .. Framed("85 3412 42"), .. Framed("86 0700 FFFFFFFF"), .. Framed("82 00000100"),
            .. Framed("81 0C000000 0B 90D00300 4B"),
            .. Framed("84 05000000 0000803F 3FF8000000000000 0300 000000C0 C000000000000000 FFFF"),
        ]);
        DeviceMessage[] all = [.. read.All];
        Assert.That(all.Select(m => m.Kind), Is.EqualTo(new[]
        {
            MessageKind.Booted, MessageKind.Identity, MessageKind.Clock, MessageKind.Credit, MessageKind.Decision, MessageKind.Decision,
            MessageKind.Sample, MessageKind.Sample,
        }));
        Assert.Multiple(() =>
        {
            Assert.That(all[0].Fields, Is.EqualTo(new Dictionary<string, string> { ["major"] = "1", ["minor"] = "2" }));
            Assert.That(all[1].Fields, Is.EqualTo(new Dictionary<string, string> { ["version"] = "4660" }));
            Assert.That((all[2].Token, all[2].Ticks), Is.EqualTo(((ulong?)7, (ulong?)uint.MaxValue)));
            Assert.That(all[3].N, Is.EqualTo(256));
            // 0B = 01 011: activity 3, shake 1.
            Assert.That((all[4].Output, all[4].Class, all[4].N, all[4].Ticks, all[4].Confidence), Is.EqualTo((0, "dropped", (long?)12, (ulong?)250000, (double?)0.75)));
            Assert.That((all[5].Output, all[5].Class), Is.EqualTo((1, "shaken")));
            Assert.That((all[6].N, all[7].N), Is.EqualTo(((long?)5, (long?)6)));
            Assert.That(decoder.Counts, Is.EqualTo(new DecoderCounts(8, 0, 0, 0)));
        });
        Assert.That(ValuesOfSamples(), Is.EqualTo(new[] { new[] { 1, 1.5, 1.5 }, [-2, -2, -0.5] }));

        double[][] ValuesOfSamples() => [.. read.Values.Where((_, i) => all[i].Kind == MessageKind.Sample)];
    }

    [TestCase("81 0C000000 0B 90D003", Description = "too short")]
    [TestCase("81 0C000000 0B 90D00300 4B 00", Description = "too long")]
    [TestCase("99 00", Description = "unknown type")]
    [TestCase("85 3412 43", Description = "another constant")]
    [TestCase("84 05000000", Description = "a block of no samples")]
    public void A_whole_frame_that_is_none_of_the_messages_is_unknown(string body)
    {
        using IDeviceDecoder decoder = New(Devices.Binary);
        Assert.That(Messages.Decode(decoder, Framed(body)).All, Is.Empty);
        Assert.That(decoder.Counts, Is.EqualTo(new DecoderCounts(0, 0, 1, 0)));
    }

    [Test]
    public void A_damaged_frame_is_bad_and_no_decision()
    {
        using IDeviceDecoder decoder = New(Devices.Binary);
        byte[] frame = Framed("82 00000100");
        frame[3] ^= 0x10;
        Assert.That(Messages.Decode(decoder, frame).All, Is.Empty);
        Assert.That(decoder.Counts, Is.EqualTo(new DecoderCounts(0, 1, 0, frame.Length)));
    }

    [Test]
    public void What_is_sent_follows_the_field_lists()
    {
        using IDeviceFormat format = new DeviceFormatFactory().Create(Devices.Binary);
        int[][] counts = [[1, 2, 3], [-5, -6, -7], [1000, -1001, 1002]];
        Assert.Multiple(() =>
        {
            Assert.That(Body(format.Begin(new(50_000), 3)), Is.EqualTo("0150C30000"));
            Assert.That(Body(format.Samples(counts, 1, 2)), Is.EqualTo("0201000000" + "0200FFFA17FCFF" + "0300FFF9EA0300"));
            Assert.That(Body(format.End(3)), Is.EqualTo("03"));
            Assert.That(Body(format.Message(Devices.Binary.Identity!.Ask)), Is.EqualTo("04"));
            Assert.That(Body(format.Message(Devices.Binary.Clock!.Ask, 0x1234)), Is.EqualTo("053412"));
            Assert.That(() => format.Message(Devices.Binary.Clock!.Ask, 0x12345),
                Throws.TypeOf<InvalidDataException>().With.Message.Contains("token is 74565").And.Message.Contains("U16Le cannot hold"));
            Assert.That(() => format.Samples([[1], [40_000], [1]], 0, 1), Throws.TypeOf<InvalidDataException>().With.Message.Contains("ay is 40000 at sample 0"));
        });
    }

    [Test]
    public void Scaled_values_are_sent_to_the_nearest_integer()
    {
        DeviceDescription device = Devices.Binary with
        {
            Hears = new() { Sample = Devices.Fields(2, new("ax", FieldType.I8, 2), new("ay", FieldType.F32Be, 0.5), new BinaryField("az", FieldType.I16Be, 0.1)) },
        };
        using IDeviceFormat format = new DeviceFormatFactory().Create(device);
        Assert.That(Body(format.Samples([[3], [1], [-7]], 0, 1)), Is.EqualTo("02" + "02" + "40000000" + "FFBA"));
    }

    [Test]
    public void A_frame_may_hold_several_decisions_and_constants_of_any_type()
    {
        DeviceDescription device = Says(new(null, new(0x81, [new("_", FieldType.F32Be, 1, -2), new("t_us", FieldType.U16Be)])
        {
            Repeat = [new("class", FieldType.I8), new("n", FieldType.U64Le), new("score", FieldType.F32Le)],
        }));
        using IDeviceDecoder decoder = New(device);
        Messages read = Messages.Decode(decoder,
        [
            .. Framed("81 C0000000 0102" + "01 0500000000000000 0000003F" + "FF FFFFFFFFFFFFFFFF 0000C07F"),
            .. Framed("81 C0000001 0102" + "01 0500000000000000 0000003F"),
        ]);
        Assert.That(read.All.Select(m => (m.Class ?? $"no class: {m.UnknownClass}", m.N, m.Ticks, m.Confidence)), Is.EqualTo(new[]
        {
            ("carried", (long?)5, (ulong?)0x0102, (double?)0.5), ("no class: -1", null, 0x0102, null),
        }));
        Assert.That(decoder.Counts, Is.EqualTo(new DecoderCounts(2, 0, 1, 0)));
    }

    [Test]
    public void Decoding_allocates_nothing()
    {
        using IDeviceDecoder decoder = New(Devices.Binary);
        byte[] bytes = [.. Framed("82 00000100"), .. Framed("81 0C000000 0B 90D00300 4B"), 0x55, 0, .. Framed("86 0700 FFFFFFFF")];
        var counter = new TextFormatTests.CountingSink();
        for (int i = 0; i < 2000; i++) { decoder.Feed(bytes, new(i), counter); }
        long allocated = Allocated.Least(() =>
        {
            counter.Count = 0;
            for (int i = 0; i < 25_000; i++) { decoder.Feed(bytes, new(i), counter); }
        });
        Assert.That(allocated, Is.Zero);
        Assert.That(counter.Count, Is.EqualTo(100_000));
    }

    private static readonly (DeviceDescription Device, string Says)[] Refused =
    [
        (Says(Devices.Layout(1, new("class", FieldType.F32Le), new BinaryField("n", FieldType.U8))), "field class has type F32Le; expected an integer"),
        (Says(Devices.Layout(1, new("class", FieldType.U8), new BinaryField("t_us", FieldType.I32Le))), "expected an unsigned integer"),
        (Says(Devices.Layout(1, new("class", FieldType.U8), new BinaryField("n", FieldType.U8, 0.5))), "expected a whole number of samples"),
        (Says(Devices.Layout(1, new("class", FieldType.U8), new BinaryField("class", FieldType.U8))), "two fields named class"),
        (Says(Devices.Layout(1, new("class", FieldType.U8), new BinaryField("_", FieldType.U8, 1, 256))), "is always 256"),
        (Says(Devices.Layout(1, new BinaryField("class", FieldType.U8, 0))), "scale 0"),
        (Says(Devices.Layout(256, new BinaryField("class", FieldType.U8))), "type value 256 does not fit U8"),
        (Says(new(null, new(null, [new("class", FieldType.U8)]))), "no type value although"),
        (Devices.Binary with { Says = Devices.Binary.Says with { Credit = new(null, new(1, [new("n", FieldType.U8)]) { Repeat = [new("_", FieldType.U8)] }) } },
            "repeats fields"),
        (Says(Devices.Pattern("^(?<class>x)$")), "a pattern although the framing has a type field"),
        (Devices.Binary with { Framing = new(FramingKind.Cobs) }, "although the framing has no type field"),
        (Devices.Binary with { Hears = new() { Sample = Devices.Text("s {n}") } }, "text although the framing has a type field"),
        (Devices.Binary with { Hears = Devices.Binary.Hears with { Sample = Devices.Fields(2, new BinaryField("ax", FieldType.I16Le)) } }, "no fields under repeat"),
    ];

    [Test]
    public void A_description_that_cannot_be_used_is_refused_with_its_place([Range(0, 12)] int index) =>
        Assert.That(() => new DeviceFormatFactory().Create(Refused[index].Device), Throws.TypeOf<InvalidDataException>().With.Message.Contains(Refused[index].Says));

    private static DeviceDescription Says(IncomingMessage decision) =>
        Devices.Binary with { Says = Devices.Binary.Says with { Decisions = [new("activity", decision, null, null)] } };

    private static byte[] Framed(string body) => Codec.Frame(Convert.FromHexString(body.Replace(" ", "", StringComparison.Ordinal)));

    private static string Body(byte[] frame) => Convert.ToHexString(Collector.Feed(Codec.NewDeframer(), frame).Bodies.Single());

    private static IDeviceDecoder New(DeviceDescription device)
    {
        using IDeviceFormat format = new DeviceFormatFactory().Create(device);
        return format.NewDecoder();
    }
}
