using HilRunner.Core.Capture;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;

namespace HilRunner.Transport.Decoding;

/// <summary>Makes the format of a rig's device. What the description lacks or contradicts is said here, before any hardware is touched.</summary>
public sealed class DeviceFormatFactory : IDeviceFormatFactory
{
    public IDecoderSource Kept(DeviceDescription device, string? path, string captureSha256) =>
        path is null ? new NoDecoders(device) : new KeptDecoders(device, path, captureSha256);

    public void Keep(DeviceDescription device, ICaptureReader capture, string captureSha256, Stream kept) =>
        AdapterFormat.Keep(device, capture, captureSha256, kept);

    public IDeviceFormat Create(DeviceDescription device) =>
        device.Framing.Kind == FramingKind.Adapter ? new AdapterFormat(device) : new DeviceFormat(device);
}
