using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;

namespace HilRunner.Transport.Decoding;

/// <summary>Makes the format of a rig's device. What the description lacks or contradicts is said here, before any hardware is touched.</summary>
public sealed class DeviceFormatFactory : IDeviceFormatFactory
{
    public IDeviceFormat Create(DeviceDescription device) =>
        device.Framing.Kind == FramingKind.Adapter ? new AdapterFormat(device) : new DeviceFormat(device);
}
