using HilRunner.Core.Links;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;

namespace HilRunner.Engine.Checking;

/// <summary>Whether link and format can carry the device's input rate, worked out from the longest frame that can occur.</summary>
/// <param name="FrameBytes">Bytes of the longest sample frame.</param>
/// <param name="NeededBytesPerSecond">At real time.</param>
/// <param name="AvailableBytesPerSecond">Null: the link has no fixed speed (pty, TCP, a program).</param>
public sealed record LinkBudget(int FrameBytes, int SamplesPerFrame, double NeededBytesPerSecond, double? AvailableBytesPerSecond)
{
    /// <summary>Above this share of the link's speed there is no room for what else is sent: common practice of the trade.</summary>
    public const double MostLoad = 0.8;

    public double? Load => NeededBytesPerSecond / AvailableBytesPerSecond;
    public bool Fits => Load is not > MostLoad;

    /// <param name="device">Its longest frame has every value at full negative scale and a seven-digit sample number.</param>
    /// <param name="format">Made from <paramref name="device"/>.</param>
    public static LinkBudget Of(DeviceDescription device, IDeviceFormat format)
    {
        const int seventhDigit = 1_000_000;
        int perFrame = device.Hears.SamplesPerMessage;
        var counts = device.Input.Channels.Select(c => Enumerable.Repeat(-c.MaxCount, perFrame + seventhDigit).ToArray()).ToArray();
        int bytes = format.Samples(counts, seventhDigit, perFrame).Length;
        double needed = bytes * device.Input.Rate.Hertz / perFrame;
        double? available = device.Link is SerialLinkSpec serial ? serial.Baud / serial.BitsPerByte : null;
        return new(bytes, perFrame, needed, available);
    }
}
