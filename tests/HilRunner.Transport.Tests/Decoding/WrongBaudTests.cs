using CsCheck;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Transport.Decoding;
using HilRunner.Transport.Framing;

namespace HilRunner.Transport.Tests.Decoding;

/// <summary>What a receiver at the wrong speed makes of a good stream: never an exception, never a decision, all of it counted.</summary>
public class WrongBaudTests
{
    // Within 10 % a receiver may still read every byte right: half a bit over the nine to the last data bit is 5.6 %.
    private static readonly Gen<double> Ratio = Gen.OneOf(Gen.Double[0.2, 0.88], Gen.Double[1.12, 5]);

    [Test]
    public void Lines_at_the_wrong_speed_are_unknown() => Gen.Select(Ratio, Gen.Int[0, 99_999].Array[1, 60]).Sample((ratio, numbers) =>
    {
        string text = string.Concat(numbers.Select(n => $"c {n} {n % 4} {n}00 0.5\nk {n}\n"));
        CheckGarbage(Devices.Lines, System.Text.Encoding.ASCII.GetBytes(text), ratio);
    }, iter: 500);

    [Test]
    public void Frames_at_the_wrong_speed_are_bad() => Gen.Select(Ratio, Gen.Byte.Array[4].Array[1, 60]).Sample((ratio, numbers) =>
    {
        FramingCodec codec = FramingCodec.Create(Devices.Binary.Framing);
        byte[] stream = [.. numbers.SelectMany(n => codec.Frame([0x82, .. n]))];
        CheckGarbage(Devices.Binary, stream, ratio);
    }, iter: 500);

    [Test]
    public void The_simulated_receiver_reads_the_right_speed()
    {
        byte[] stream = [0, 255, 0x55, 0xAA, 1, 0x80];
        Assert.That(Receive(stream, 1), Is.EqualTo(stream));
        Assert.That(Receive(stream, 1.03), Is.EqualTo(stream));
        Assert.That(Receive(stream, 1.5), Is.Not.EqualTo(stream));
    }

    private static void CheckGarbage(DeviceDescription device, byte[] sent, double ratio)
    {
        using IDeviceFormat format = new DeviceFormatFactory().Create(device);
        using IDeviceDecoder decoder = format.NewDecoder();
        Messages read = Messages.Decode(decoder, Receive(sent, ratio));
        Assert.That(read.All, Is.Empty);
        Assert.That(decoder.Counts.Messages, Is.Zero);
    }

    /// <summary>8N1: idle high, a start bit low, eight data bits from the lowest, a stop bit high; sampled in the middle of the receiver's bits.</summary>
    /// <param name="ratio">Receiver's speed over the sender's.</param>
    private static byte[] Receive(byte[] sent, double ratio)
    {
        var line = new List<bool> { true, true };
        foreach (byte b in sent)
        {
            line.Add(false);
            for (int bit = 0; bit < 8; bit++) { line.Add((b >> bit & 1) != 0); }
            line.Add(true);
        }
        var received = new List<byte>();
        double at = 0;
        while (true)
        {
            // The next falling edge after the last stop bit was sampled.
            int edge = (int)at;
            while (edge < line.Count && (line[edge] || (edge > 0 && !line[edge - 1] && edge > at))) { edge++; }
            if (edge + 10 / ratio >= line.Count + 1) { return [.. received]; }
            int value = 0;
            for (int bit = 0; bit < 8; bit++)
            {
                int sample = (int)(edge + (1.5 + bit) / ratio);
                if (sample >= line.Count || line[sample]) { value |= 1 << bit; }
            }
            received.Add((byte)value);
            at = edge + 9.5 / ratio;
        }
    }
}
