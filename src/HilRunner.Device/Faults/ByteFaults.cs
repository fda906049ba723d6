using HilRunner.Core.Links;
using HilRunner.Core.Numerics;

namespace HilRunner.Device.Faults;

/// <summary>Loses, garbles and doubles bytes on their way out. What it did is counted, so that a test can hold the tool to it.</summary>
internal sealed class ByteFaults(VirtualDeviceOptions options)
{
    private Xoshiro256 _random = new(options.Seed);

    public long Lost { get; private set; }
    public long Garbled { get; private set; }
    public long Duplicated { get; private set; }

    /// <summary>True when bytes can come out otherwise than they went in.</summary>
    public bool Active { get; } = options.LoseBytes > 0 || options.GarbleBytes > 0 || options.DuplicateBytes > 0;

    /// <param name="damaged">Room for twice the message.</param>
    /// <returns>Bytes written to <paramref name="damaged"/>.</returns>
    public int Apply(ReadOnlySpan<byte> message, Span<byte> damaged)
    {
        int written = 0;
        foreach (byte value in message)
        {
            if (Happens(options.LoseBytes))
            {
                Lost++;
                continue;
            }
            byte sent = value;
            if (Happens(options.GarbleBytes))
            {
                sent ^= (byte)(1 << (int)(_random.Next() & 7));
                Garbled++;
            }
            damaged[written++] = sent;
            if (Happens(options.DuplicateBytes))
            {
                damaged[written++] = sent;
                Duplicated++;
            }
        }
        return written;
    }

    private bool Happens(double share) => share > 0 && _random.NextShare() < share;
}
