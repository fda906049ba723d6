using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Transport.Decoding;

namespace HilRunner.Transport.Tests.Decoding;

/// <summary>
/// Counters in messages: narrow ones, numbers of whole messages, the device's own counts, and what is of no interest.
/// </summary>
public class CounterFormatTests
{
    private static DeviceDescription Narrow => Devices.Binary with
    {
        Hears = Devices.Binary.Hears with
        {
            Sample = new(
                null, new(2,
                    [new("batch", FieldType.U8),
                        new("n", FieldType.U16Le)]) { Repeat = Devices.Binary.Hears.Sample!.Layout!.Repeat }),
        },
        Says = new()
        {
            Decisions = [new(
                "", new(null, new(0x81, [new("batch", FieldType.U8), new("seq", FieldType.U8), new("class", FieldType.U8)])),
                null, null)],
            Counters = new(
                new(null, new(9, [])), new(null, new(0x8A, [new("received", FieldType.U16Le), new("said", FieldType.U8)]))),
            Ignore = [new(null, new(0x90, [new("_", FieldType.U8)]))],
        },
        Clock = null,
        Identity = null,
    };

    [TestCase(0, 0, 0)]
    [TestCase(1_020, 255, 1_020)]
    [TestCase(1_024, 0, 1_024)]
    [TestCase(65_536, 0, 0)]
    [TestCase(1_000_000, 1_000_000 / 4 % 256, 1_000_000 % 65_536)]
    public void ANarrowCounterThatIsSentBeginsAnewWhereItsWidthEnds(int first, int batch, int n)
    {
        using var format = new DeviceFormatFactory().Create(Narrow);
        int[][] counts = [.. Enumerable.Range(0, 3).Select(_ => new int[first + 4])];
        byte[] plain = new byte[64];
        byte[] frame = format.Samples(counts, first, 4);
        Assert.That(Transport.Framing.Cobs.TryDecode(frame.AsSpan(0, frame.Length - 1), plain, out _));
        Assert.That((plain[1], plain[2] | plain[3] << 8), Is.EqualTo((batch, n)));
    }

    [Test]
    public void ABatchStandsForItsLastSampleAndWrapsWithItsMessages()
    {
        using var format = new DeviceFormatFactory().Create(Narrow);
        using var decoder = format.NewDecoder();
        var read = Messages.Decode(
            decoder, [.. Framed("81 02 FE 01"), .. Framed("8A 3412 07"),
                .. Framed("90 00"), .. Framed("81 03 FF 63"), .. Framed("91 00")]);
        var (decision, counters, unknown) = (read.All[0], read.All[1], read.All[2]);
        Assert.Multiple(() =>
        {
            Assert.That((decision.Class, decision.N, decision.NWraps, decision.Seq, decision.SeqWraps),
                Is.EqualTo(("carried", (long?)11, 1024L, (ulong?)254, 256UL)));
            Assert.That(counters.Kind, Is.EqualTo(MessageKind.Counters));
            Assert.That(counters.Fields, Is.EqualTo(new Dictionary<string, string> { ["received"] = "4660", ["said"] = "7" }));
            Assert.That((unknown.Class, unknown.UnknownClass), Is.EqualTo(((string?)null, "99")), "the map does not hold it");
            Assert.That(decoder.Counts, Is.EqualTo(new DecoderCounts(3, 0, 1, 0)),
                "what is of no interest is neither a message nor unknown");
        });
    }

    [Test]
    public void TheCountersOfTextHaveTheWidthThatTheRigSays()
    {
        var device = Devices.Lines with
        {
            Says = Devices.Lines.Says with
            {
                Decisions = [new("", new(@"^c (?<seq>\d+) (?<n>\d+) (?<class>\w+)$", null), null, null)],
                Bits = new Dictionary<string, int> { ["n"] = 16, ["seq"] = 8 },
            },
        };
        using var format = new DeviceFormatFactory().Create(device);
        using var decoder = format.NewDecoder();
        var message = Messages.Decode(decoder, "c 255 65535 1\n"u8.ToArray()).All.Single();
        Assert.That((message.Class, message.N, message.NWraps, message.Seq, message.SeqWraps),
            Is.EqualTo(("carried", (long?)65535, 65536L, (ulong?)255, 256UL)));
    }

    private static byte[] Framed(string body) => Transport.Framing.FramingCodec.Create(Narrow.Framing)
        .Frame(Convert.FromHexString(body.Replace(" ", "", StringComparison.Ordinal)));
}
