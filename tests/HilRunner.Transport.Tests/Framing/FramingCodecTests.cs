using System.Text;
using CsCheck;
using HilRunner.Core.Rigs;
using HilRunner.Testing;
using HilRunner.Transport.Framing;

namespace HilRunner.Transport.Tests.Framing;

public class FramingCodecTests
{
    private static readonly FramingSpec LengthSpec = new(FramingKind.Length)
    {
        Sync = new byte[] { 0xA5, 0x5A }, LengthField = FieldType.U8, Crc = "CRC-16/MODBUS", MaxLength = 300,
    };

    private static readonly FramingSpec[] Specs =
    [
        new(FramingKind.Lines) { MaxLength = 300 },
        new(FramingKind.Lines) { MaxLength = 300, LineEnd = "\r\n" },
        new(FramingKind.Cobs) { MaxLength = 300 },
        new(FramingKind.Cobs) { MaxLength = 300, Crc = "CRC-32/ISO-HDLC", CrcOrder = ByteOrder.Big },
        new(FramingKind.Slip) { MaxLength = 500, Crc = "CRC-32/ISCSI" },
        new(FramingKind.Hdlc) { MaxLength = 500 },
        new(FramingKind.Hdlc) { MaxLength = 500, Crc = "CRC-32/ISO-HDLC" },
        LengthSpec,
        LengthSpec with { LengthField = FieldType.U16Be, LengthAdd = -4, CrcCoversHeader = true, Crc = "CRC-32/MPEG-2" },
        LengthSpec with { Sync = new byte[] { 0x7E }, Crc = null },
    ];

    private static readonly FramingSpec[] CheckedSpecs = [.. Specs.Where(s => s.Crc is not null || s.Kind == FramingKind.Hdlc)];

    // RFC 1662 (map 0): data 123456789 and 7E 7D 11 41.
    [TestCase("313233343536373839", "7E3132333435363738396E907E")]
    [TestCase("7E7D1141", "7E7D5E7D5D1141BAA87E")]
    public void Hdlc_frames_of_the_standard(string body, string wire)
    {
        FramingCodec hdlc = FramingCodec.Create(new(FramingKind.Hdlc));
        Assert.That(Convert.ToHexString(hdlc.Frame(Convert.FromHexString(body))), Is.EqualTo(wire));
        Collector read = Collector.Feed(hdlc.NewDeframer(), Convert.FromHexString(wire), 1);
        Assert.That(read.Bodies.Select(Convert.ToHexString), Is.EqualTo(new[] { body }));
    }

    [Test]
    public void Hdlc_understands_escaped_control_octets_shared_flags_and_aborts()
    {
        Deframer deframer = FramingCodec.Create(new(FramingKind.Hdlc)).NewDeframer();
        byte[] wire = Convert.FromHexString("7E" + "7D5E7D5D7D3141BAA8" + "7E" + "3132333435363738396E90" + "7E" + "31327D" + "7E" + "7E");
        Collector read = Collector.Feed(deframer, wire, 3);
        Assert.That(read.Bodies.Select(Convert.ToHexString), Is.EqualTo(new[] { "7E7D1141", "313233343536373839" }));
        Assert.That(deframer.Counts, Is.EqualTo(new FrameCounts(2, 1, 10 + 12, 4, 2)));
    }

    [Test]
    public void Slip_drops_empty_frames()
    {
        // RFC 1055: 01 C0 02 DB 03; a leading END is allowed.
        FramingCodec slip = FramingCodec.Create(new(FramingKind.Slip));
        Assert.That(Convert.ToHexString(slip.Frame([1, 0xC0, 2, 0xDB, 3])), Is.EqualTo("01DBDC02DBDD03C0"));
        Deframer deframer = slip.NewDeframer();
        Collector read = Collector.Feed(deframer, Convert.FromHexString("C001DBDC02DBDD03C0C0"));
        Assert.That(read.Bodies.Single(), Is.EqualTo(new byte[] { 1, 0xC0, 2, 0xDB, 3 }));
        Assert.That(deframer.Counts, Is.EqualTo(new FrameCounts(1, 0, 8, 0, 2)));
    }

    [Test]
    public void Lines_end_in_either_way_and_empty_ones_are_idle()
    {
        Deframer deframer = FramingCodec.Create(new(FramingKind.Lines)).NewDeframer();
        Collector read = Collector.Feed(deframer, "a b\r\n\nc\npend"u8, 2);
        Assert.That(read.Bodies.Select(Encoding.ASCII.GetString), Is.EqualTo(new[] { "a b", "c" }));
        Assert.That(read.Stamps, Is.EqualTo(new[] { (0L, 4L, 5), (6L, 6L, 2) }));
        Assert.That(deframer.Counts, Is.EqualTo(new FrameCounts(2, 0, 7, 0, 1)));
        Assert.That(deframer.Pending, Is.EqualTo(4));
    }

    [TestCase("\n", "id", "id\n")]
    [TestCase("\r\n", "id", "id\r\n")]
    [TestCase("\n", "\n", "\n")]
    public void A_sent_line_has_one_line_end(string end, string text, string wire) =>
        Assert.That(Encoding.ASCII.GetString(FramingCodec.Create(new(FramingKind.Lines) { LineEnd = end }).Frame(Encoding.ASCII.GetBytes(text))), Is.EqualTo(wire));

    [Test]
    public void An_over_long_line_is_one_bad_frame_and_the_next_is_good()
    {
        Deframer deframer = FramingCodec.Create(new(FramingKind.Lines) { MaxLength = 16 }).NewDeframer();
        Collector read = Collector.Feed(deframer, "0123456789abcdef\n0123456789abcdefg\nok\n"u8, 5);
        Assert.That(read.Bodies.Select(Encoding.ASCII.GetString), Is.EqualTo(new[] { "0123456789abcdef", "ok" }));
        Assert.That(deframer.Counts, Is.EqualTo(new FrameCounts(2, 1, 17 + 3, 18, 0)));
    }

    [Test]
    public void A_length_frame_is_laid_out_as_described()
    {
        FramingSpec spec = LengthSpec with { LengthField = FieldType.U16Be, LengthAdd = -3, CrcCoversHeader = true, Crc = "CRC-16/MODBUS" };
        byte[] wire = FramingCodec.Create(spec).Frame([1, 2]);
        ulong crc = CrcModel.ByName("CRC-16/MODBUS").Compute([0xA5, 0x5A, 0, 5, 1, 2]);
        Assert.That(wire, Is.EqualTo(new byte[] { 0xA5, 0x5A, 0, 5, 1, 2, (byte)crc, (byte)(crc >> 8) }));
    }

    [Test]
    public void A_cut_off_length_frame_does_not_take_the_next_ones_with_it()
    {
        FramingCodec codec = FramingCodec.Create(LengthSpec);
        byte[] first = codec.Frame(new byte[40]);
        byte[] good = codec.Frame([7, 8, 9]);
        byte[] wire = [.. first[..20], .. good, .. good, .. new byte[60]];
        Deframer deframer = codec.NewDeframer();
        Collector read = Collector.Feed(deframer, wire, 1);
        Assert.That(read.Bodies, Is.EqualTo(new[] { new byte[] { 7, 8, 9 }, [7, 8, 9] }));
        Assert.That(read.Stamps[0], Is.EqualTo((20L, 20L + good.Length - 1, good.Length)), "arrival times are those of its own bytes");
        Assert.That(deframer.Counts.FramesBad, Is.EqualTo(2), "the cut-off frame, and the zeros at the end");
    }

    [Test]
    public void Frames_round_trip_in_any_chunks() => Gen.Select(Gen.Int[0, Specs.Length - 1], BodyGen.Array[1, 8], Gen.Int[1, 40].Array[1, 6])
        .Sample((index, bodies, chunks) =>
        {
            bodies = [.. bodies.Select(b => Allowed(Specs[index], b))];
            FramingCodec codec = FramingCodec.Create(Specs[index]);
            byte[][] frames = [.. bodies.Select(b => codec.Frame(b))];
            Deframer deframer = codec.NewDeframer();
            Collector read = Collector.Feed(deframer, [.. frames.SelectMany(f => f)], chunks);
            Assert.That(read.Bodies, Is.EqualTo(bodies));
            Assert.That(deframer.Counts.FramesBad + deframer.Counts.BytesDiscarded + deframer.Pending, Is.Zero);
        }, iter: 3000);

    [Test]
    public void Garbage_between_frames_costs_no_good_frame() =>
        Gen.Select(Gen.Int[0, CheckedSpecs.Length - 1], Gen.Select(BodyGen, Gen.Byte.Array[0, 30]).Array[1, 6], Gen.Int[1, 40].Array[1, 6])
            .Sample((index, parts, chunks) =>
            {
                FramingSpec spec = CheckedSpecs[index] with { Crc = "CRC-32/ISO-HDLC" };
                FramingCodec codec = FramingCodec.Create(spec);
                bool delimited = spec.Kind != FramingKind.Length;
                // In a delimited framing the garbage runs up to the next delimiter, so it needs one of its own; a length framing needs room to see the end.
                byte[] stop = delimited ? [codec.Frame([1])[^1]] : [];
                byte[] stream = [.. parts.SelectMany(p => (byte[])[.. p.Item2, .. stop, .. codec.Frame(p.Item1)]), .. new byte[delimited ? 0 : spec.MaxLength]];
                Collector read = Collector.Feed(codec.NewDeframer(), stream, chunks);
                Assert.That(read.Bodies, Is.EqualTo(parts.Select(p => p.Item1)));
            }, iter: 3000);

    /// <summary>
    /// Every bit of fixed frames is turned over, one at a time. Fixed, not drawn: a 16-bit sum lets one in 65 536 of the frames through that a
    /// turned delimiter or length makes up, which is no fault of the deframer.
    /// </summary>
    [Test]
    public void One_wrong_bit_never_gives_a_frame_and_never_costs_the_next_one()
    {
        var random = new Random(11);
        foreach (FramingSpec spec in CheckedSpecs)
        {
            FramingCodec codec = FramingCodec.Create(spec);
            byte[] body = new byte[24];
            random.NextBytes(body);
            byte[] next = [0x11, 0x22, 0x33, 0x44];
            byte[] damaged = codec.Frame(body);
            byte[] good = codec.Frame(next);
            for (int bit = 0; bit < damaged.Length * 8; bit++)
            {
                damaged[bit / 8] ^= (byte)(1 << bit % 8);
                byte[] stream = [.. damaged, .. good, .. good, .. new byte[spec.Kind == FramingKind.Length ? spec.MaxLength : 0]];
                Deframer deframer = codec.NewDeframer();
                Collector read = Collector.Feed(deframer, stream, 7);
                // Where one delimiter stands between frames, its loss joins the damaged frame to the next one.
                bool joined = spec.Kind is FramingKind.Cobs or FramingKind.Slip && bit >= (damaged.Length - 1) * 8;
                Assert.That(read.Bodies.Where(b => !b.AsSpan().SequenceEqual(next)), Is.Empty, $"{spec.Kind} {spec.Crc} bit {bit}");
                Assert.That(read.Bodies, Has.Count.EqualTo(joined ? 1 : 2), $"{spec.Kind} {spec.Crc} bit {bit}");
                Assert.That(deframer.Counts.FramesBad, Is.GreaterThan(0), $"{spec.Kind} {spec.Crc} bit {bit}");
                damaged[bit / 8] ^= (byte)(1 << bit % 8);
            }
        }
    }

    [Test]
    public void Noise_never_throws_and_is_all_accounted_for() =>
        Gen.Select(Gen.Int[0, Specs.Length - 1], Gen.Byte.Array[0, 2000], Gen.Int[1, 300].Array[1, 6]).Sample(
            (index, noise, chunks) => Collector.Feed(FramingCodec.Create(Specs[index]).NewDeframer(), noise, chunks), iter: 2000);

    [Test]
    public void Deframing_allocates_nothing()
    {
        foreach (FramingSpec spec in Specs)
        {
            FramingCodec codec = FramingCodec.Create(spec);
            byte[] stream = [.. codec.Frame([1, 2, 3, 4, 5, 6, 7, 8]), 9, .. codec.Frame([1, 2, 3])];
            Deframer deframer = codec.NewDeframer();
            var sink = new CountingSink();
            for (int i = 0; i < 100; i++) { deframer.Feed(stream, new(i), sink); }
            long allocated = Allocated.Least(() =>
            {
                for (int i = 0; i < 10_000; i++) { deframer.Feed(stream, new(i), sink); }
            });
            Assert.That(allocated, Is.Zero, spec.Kind.ToString());
            Assert.That(sink.Frames, Is.GreaterThan(10_000), spec.Kind.ToString());
        }
    }

    [TestCase(FramingKind.Adapter, "no bytes of its own")]
    [TestCase(FramingKind.Length, "sync word of 0 bytes")]
    public void A_description_that_cannot_be_used_is_refused(FramingKind kind, string says) =>
        Assert.That(() => FramingCodec.Create(new(kind)), Throws.TypeOf<InvalidDataException>().With.Message.Contains(says));

    [Test]
    public void A_body_that_the_length_field_cannot_state_is_refused() =>
        Assert.That(() => FramingCodec.Create(LengthSpec).Frame(new byte[256]), Throws.TypeOf<InvalidDataException>().With.Message.Contains("length value 256"));

    private static readonly Gen<byte[]> BodyGen =
        Gen.OneOf(Gen.Byte, Gen.Int[0, 7].Select(i => new byte[] { 0, 0x7D, 0x7E, 0xA5, 0x5A, 0xC0, 0xDB, 0xFF }[i])).Array[1, 120];

    /// <summary>A line cannot hold a line feed nor end in a carriage return.</summary>
    private static byte[] Allowed(FramingSpec spec, byte[] body) =>
        spec.Kind == FramingKind.Lines ? [.. body.Select(b => b is (byte)'\n' or (byte)'\r' ? (byte)'x' : b)] : body;

    private sealed class CountingSink : IFrameSink
    {
        public int Frames { get; private set; }

        public void OnFrame(ReadOnlySpan<byte> body, Core.Time.HostTime firstByte, Core.Time.HostTime lastByte, int wireLength) => Frames++;
    }
}
