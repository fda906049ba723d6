using System.Buffers.Binary;
using CsCheck;
using HilRunner.Core.Links;
using HilRunner.Transport.Framing;

namespace HilRunner.Device.Tests;

/// <summary>The device by its binary frames, byte for byte as README.md of the device says.</summary>
public sealed class CobsDeviceTests
{
    private static readonly VirtualDeviceOptions Plain = new() { Model = "", Protocol = VirtualDeviceProtocol.Cobs, CreditWindow = 0 };

    [Test]
    public void Its_banner_is_the_documented_bytes()
    {
        // The worked example of README.md: type 88, version 1 002 003 = 000F4A13 hex; CRC-16/IBM-3740 of 88 13 4A 0F 00.
        using Bench bench = new(Plain with { Version = "1.2.3" });
        bench.Link.WaitFor(() => bench.Link.Bytes.Length > 0, "a banner");
        Assert.That(Convert.ToHexString(bench.Link.Bytes), Is.EqualTo(Readme("banner")));
    }

    [TestCase(1)]
    [TestCase(8)]
    [TestCase(80)]
    public void Blocks_of_samples_give_the_models_decisions(int block)
    {
        using Bench bench = new(Plain with { CreditWindow = 256 });
        bench.Link.Send(Frame(0x01, 0xA0, 0x86, 0x01, 0x00));
        foreach (int[] part in Enumerable.Range(0, TestMotion.Z.Length).Chunk(block)) { bench.Link.Send(SampleFrame(part)); }
        bench.Link.Send([.. Frame(0x03), .. Frame(0x04)]);
        bench.Link.WaitFor(() => Frames(bench.Link.Bytes).Any(f => f[0] == 0x84), "the identity");
        List<byte[]> frames = Frames(bench.Link.Bytes);
        Assert.Multiple(() =>
        {
            Assert.That(frames.Where(f => f[0] == 0x82).Select(f => (N(f), TestMotion.Model.Classes[f[5]], BinaryPrimitives.ReadUInt16LittleEndian(f.AsSpan(10)) / 1000.0)),
                Is.EqualTo(TestMotion.Expected.Select(d => (d.N, d.Class, d.Confidence))));
            Assert.That(frames.Where(f => f[0] == 0x83).Select(N), Is.EqualTo(new long[] { 63, 127, 191, 255, 319, 383, 399 }));
        });
    }

    [Test]
    public void It_answers_identity_clock_and_state()
    {
        using Bench bench = new(Plain with { Version = "1.2.3", Image = "00112233445566778899" });
        bench.Link.Send([.. Frame(0x04), .. Frame(0x05, 0xEF, 0xBE, 0xAD, 0xDE), .. Frame(0x07)]);
        bench.Link.WaitFor(() => Frames(bench.Link.Bytes).Count == 4, "banner and three answers");
        List<byte[]> frames = Frames(bench.Link.Bytes);
        Assert.Multiple(() =>
        {
            Assert.That(Convert.ToHexString(frames[1]), Is.EqualTo("84" + "134A0F00" + "7766554433221100"));
            Assert.That(Convert.ToHexString(frames[2]), Does.StartWith("85EFBEADDE").And.Length.EqualTo(18));
            Assert.That(Convert.ToHexString(frames[3]), Is.EqualTo("87"));
        });
    }

    [Test]
    public void Damage_is_refused_and_the_next_frame_is_heard()
    {
        using Bench bench = new(Plain);
        byte[] damaged = Frame(0x04);
        damaged[2] ^= 0x10;
        bench.Link.Send([.. damaged, 0x02, 0x01, 0x00, 0x05, 0x01, 0x00, 0x00, .. Frame(0x33), .. Frame(0x05, 1), .. new byte[3], .. Frame(0x04)]);
        bench.Link.WaitFor(() => Frames(bench.Link.Bytes).Any(f => f[0] == 0x84), "the identity");
        // Check sum; a frame of one byte; a code that points past the end; an unknown type; a clock question without token.
        Assert.That(Frames(bench.Link.Bytes).Where(f => f[0] == 0x8F).Select(f => f[1]), Is.EqualTo(new byte[] { 3, 2, 2, 1, 2 }));
    }

    [Test]
    public void Noise_never_stops_it() =>
        Gen.Byte.Array[0, 4000].Sample(noise =>
        {
            using Bench bench = new(Plain);
            bench.Link.Send([.. noise, 0, .. Frame(0x04)]);
            bench.Link.WaitFor(() => Frames(bench.Link.Bytes).Any(f => f[0] == 0x84), "the identity");
            return true;
        }, iter: 100, threads: 1);

    private static byte[] Frame(byte type, params byte[] fields)
    {
        byte[] plain = [type, .. fields, 0, 0];
        BinaryPrimitives.WriteUInt16LittleEndian(plain.AsSpan(plain.Length - 2), (ushort)CrcModel.ByName("CRC-16/IBM-3740").Compute(plain.AsSpan(0, plain.Length - 2)));
        byte[] encoded = new byte[Cobs.MaxEncodedLength(plain.Length) + 1];
        int length = Cobs.Encode(plain, encoded);
        return encoded[..(length + 1)];
    }

    private static byte[] SampleFrame(int[] samples)
    {
        byte[] fields = new byte[4 + 6 * samples.Length];
        BinaryPrimitives.WriteUInt32LittleEndian(fields, (uint)samples[0]);
        for (int i = 0; i < samples.Length; i++)
        {
            BinaryPrimitives.WriteInt16LittleEndian(fields.AsSpan(4 + 6 * i + 4), (short)TestMotion.Z[samples[i]]);
        }
        return Frame(0x02, fields);
    }

    /// <summary>Type and fields of every whole frame; each with a right check sum.</summary>
    private static List<byte[]> Frames(byte[] bytes)
    {
        List<byte[]> frames = [];
        int start = 0;
        for (int end = Array.IndexOf(bytes, (byte)0); end >= 0; start = end + 1, end = Array.IndexOf(bytes, (byte)0, start))
        {
            byte[] plain = new byte[end - start];
            Assert.That(Cobs.TryDecode(bytes.AsSpan(start, end - start), plain, out int length));
            Assert.That(BinaryPrimitives.ReadUInt16LittleEndian(plain.AsSpan(length - 2)), Is.EqualTo(CrcModel.ByName("CRC-16/IBM-3740").Compute(plain.AsSpan(0, length - 2))));
            frames.Add(plain[..(length - 2)]);
        }
        return frames;
    }

    private static long N(byte[] frame) => BinaryPrimitives.ReadUInt32LittleEndian(frame.AsSpan(1));

    /// <summary>The bytes that README.md of the device gives as an example, in one line "NAME: 01 02 …".</summary>
    private static string Readme(string name)
    {
        string path = Path.Combine(HilRunner.Testing.TestPaths.Root, "src", "HilRunner.Device", "README.md");
        string line = File.ReadLines(path).Single(l => l.StartsWith(name + ": ", StringComparison.Ordinal));
        return line[(name.Length + 2)..].Replace(" ", "");
    }
}
