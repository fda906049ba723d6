using CsCheck;
using HilRunner.Transport.Framing;

namespace HilRunner.Transport.Tests.Framing;

public class StuffingTests
{
    // Well-known set of COBS examples (long ones below) and the packet shown in Cheshire & Baker 1999 (attribution from memory).
    [TestCase("", "01")]
    [TestCase("00", "0101")]
    [TestCase("0000", "010101")]
    [TestCase("00110 0", "01021101")]
    [TestCase("11220033", "0311220233")]
    [TestCase("11223344", "0511223344")]
    [TestCase("11000000", "0211010101")]
    [TestCase("4500002C4C79000040064F37", "024501042C4C79010540064F37")]
    public void Cobs_examples(string plain, string encoded) => CheckCobs(Hex(plain), Hex(encoded));

    [Test]
    public void Cobs_examples_at_the_length_of_a_full_run()
    {
        byte[] oneToFe = Range(0x01, 0xFE);
        CheckCobs(oneToFe, [0xFF, .. oneToFe]);
        CheckCobs([0, .. oneToFe], [0x01, 0xFF, .. oneToFe]);
        CheckCobs(Range(0x01, 0xFF), [0xFF, .. oneToFe, 0x02, 0xFF]);
        CheckCobs([.. Range(0x02, 0xFF), 0], [0xFF, .. Range(0x02, 0xFF), 0x01, 0x01]);
        CheckCobs([.. Range(0x03, 0xFF), 0, 1], [0xFE, .. Range(0x03, 0xFF), 0x02, 0x01]);
    }

    [Test]
    public void Cobs_accepts_a_final_empty_run_after_a_full_one()
    {
        byte[] oneToFe = Range(0x01, 0xFE);
        byte[] decoded = new byte[300];
        Assert.That(Cobs.TryDecode([0xFF, .. oneToFe, 0x01], decoded, out int written), Is.True);
        Assert.That(decoded[..written], Is.EqualTo(oneToFe));
    }

    [TestCase("")]
    [TestCase("0311")]
    [TestCase("031100")]
    [TestCase("00")]
    [TestCase("0111 00 01")]
    [TestCase("FF0102")]
    public void Cobs_refuses_what_is_no_frame(string encoded) =>
        Assert.That(Cobs.TryDecode(Hex(encoded), new byte[300], out _), Is.False);

    [Test]
    public void Cobs_refuses_a_destination_that_is_too_short()
    {
        Assert.That(Cobs.TryDecode([0x03, 0x11, 0x22, 0x02, 0x33], new byte[3], out _), Is.False);
        Assert.That(() => Cobs.Encode([1, 2, 3], new byte[3]), Throws.ArgumentException);
    }

    [Test]
    public void Cobs_round_trips_within_its_bound_and_without_zeros() => Bytes.Sample(plain =>
    {
        byte[] encoded = new byte[Cobs.MaxEncodedLength(plain.Length)];
        int length = Cobs.Encode(plain, encoded);
        Assert.That(encoded.AsSpan(0, length).Contains((byte)0), Is.False);
        // In place, as the deframer does it.
        Assert.That(Cobs.TryDecode(encoded.AsSpan(0, length), encoded, out int written), Is.True);
        Assert.That(encoded[..written], Is.EqualTo(plain));
    }, iter: 3000);

    // RFC 1055.
    [TestCase("01C002DB03", "01DBDC02DBDD03")]
    [TestCase("", "")]
    public void Slip_examples(string plain, string encoded)
    {
        byte[] buffer = new byte[64];
        Assert.That(buffer[..Slip.Encode(Hex(plain), buffer)], Is.EqualTo(Hex(encoded)));
        Assert.That(Slip.TryDecode(Hex(encoded), buffer, out int written), Is.True);
        Assert.That(buffer[..written], Is.EqualTo(Hex(plain)));
    }

    [TestCase("01DB")]
    [TestCase("01DB01")]
    [TestCase("01C002")]
    public void Slip_refuses_what_is_no_frame(string encoded) =>
        Assert.That(Slip.TryDecode(Hex(encoded), new byte[64], out _), Is.False);

    // RFC 1662 section 4.2; FCS BA A8 over the octets before stuffing.
    [TestCase("7E7D1141BAA8", 0u, "7D5E7D5D1141BAA8")]
    [TestCase("7E7D1141BAA8", 0xFFFFFFFFu, "7D5E7D5D7D3141BAA8")]
    public void Hdlc_examples(string plain, uint controlMap, string encoded)
    {
        byte[] buffer = new byte[64];
        Assert.That(buffer[..Hdlc.Encode(Hex(plain), buffer, controlMap)], Is.EqualTo(Hex(encoded)));
        Assert.That(Hdlc.TryDecode(Hex(encoded), buffer, out int written), Is.True);
        Assert.That(buffer[..written], Is.EqualTo(Hex(plain)));
    }

    [TestCase("017D")]
    [TestCase("017D7E")]
    [TestCase("017E02")]
    public void Hdlc_refuses_what_is_no_frame(string encoded) =>
        Assert.That(Hdlc.TryDecode(Hex(encoded), new byte[64], out _), Is.False);

    [Test]
    public void Slip_and_hdlc_round_trip_in_place_without_their_delimiter() => Bytes.Sample(plain =>
    {
        byte[] encoded = new byte[2 * plain.Length];
        int length = Slip.Encode(plain, encoded);
        Assert.That(encoded.AsSpan(0, length).Contains(Slip.End), Is.False);
        Assert.That(Slip.TryDecode(encoded.AsSpan(0, length), encoded, out int written), Is.True);
        Assert.That(encoded[..written], Is.EqualTo(plain));
        length = Hdlc.Encode(plain, encoded, 0x000A0000);
        Assert.That(encoded.AsSpan(0, length).Contains(Hdlc.Flag), Is.False);
        Assert.That(Hdlc.TryDecode(encoded.AsSpan(0, length), encoded, out written), Is.True);
        Assert.That(encoded[..written], Is.EqualTo(plain));
    }, iter: 3000);

    private static readonly byte[] Special = [0, 0x7D, 0x7E, 0xC0, 0xDB, 0xDC, 0xDD, 0xFF];

    /// <summary>Bytes in which the special values of all three codes are common, up to three full COBS runs long.</summary>
    private static readonly Gen<byte[]> Bytes =
        Gen.Frequency((6, Gen.Byte), (1, Gen.Int[0, 7].Select(i => Special[i])), (30, Gen.Const((byte)1)))
            .Array[0, 800];

    private static void CheckCobs(byte[] plain, byte[] encoded)
    {
        byte[] buffer = new byte[Cobs.MaxEncodedLength(plain.Length)];
        Assert.That(buffer[..Cobs.Encode(plain, buffer)], Is.EqualTo(encoded));
        byte[] decoded = new byte[300];
        Assert.That(Cobs.TryDecode(encoded, decoded, out int written), Is.True);
        Assert.That(decoded[..written], Is.EqualTo(plain));
    }

    private static byte[] Hex(string text) => Convert.FromHexString(text.Replace(" ", "", StringComparison.Ordinal));

    private static byte[] Range(int first, int last) => [.. Enumerable.Range(first, last - first + 1).Select(v => (byte)v)];
}
