using HilRunner.Core;
using HilRunner.Core.Links;
using HilRunner.Core.Models;
using HilRunner.Core.Time;
using HilRunner.Transport.Links;

namespace HilRunner.Device;

/// <summary>
/// The host's end of a link to a virtual device that lives as long as the link: on a pty, as a board on a serial port would be,
/// or in memory where there are no ptys or the options say so.
/// </summary>
public sealed class BuiltinLink : ILink
{
    private readonly ILink _hostEnd;
    private readonly ILink _deviceEnd;

    private BuiltinLink(ILink hostEnd, ILink deviceEnd, VirtualDevice device, string name)
    {
        _hostEnd = hostEnd;
        _deviceEnd = deviceEnd;
        Device = device;
        Name = name;
    }

    public string Name { get; }

    /// <summary>The device behind it, for what it counted.</summary>
    public VirtualDevice Device { get; }

    /// <param name="observer">Is told what the device did and when; null: nobody.</param>
    /// <exception cref="BadInputException">The model file is absent or faulty.</exception>
    /// <exception cref="LinkException">The pty could not be opened.</exception>
    public static BuiltinLink Open(BuiltinLinkSpec spec, HostClock clock, IDeviceObserver? observer = null)
    {
        MotionModel model = MotionModel.Read(spec.Options.Model);
        (ILink hostEnd, ILink deviceEnd, string where) = spec.Options.Pty && HasPtys ? OnPty(clock) : InMemory(clock);
        string format = spec.Options.Protocol.ToString().ToLowerInvariant();
        VirtualDevice device = new(spec.Options, model, deviceEnd, clock, observer);
        // The host's end is open by now: the banner waits there and is not lost.
        device.Start();
        return new(hostEnd, deviceEnd, device, $"builtin:{format} ({where})");
    }

    /// <summary>Reads what the device would need, and lets it go.</summary>
    /// <exception cref="BadInputException">The model file or the motion is absent or faulty.</exception>
    public static void Check(BuiltinLinkSpec spec) => Sensor.Of(MotionModel.Read(spec.Options.Model), spec.Options);

    public void Start(ILinkReceiver receiver) => _hostEnd.Start(receiver);

    public HostTime Write(ReadOnlySpan<byte> bytes, TimeSpan limit) => _hostEnd.Write(bytes, limit);

    public void Dispose()
    {
        // Told first, so that neither end's reader waits for a device that is going.
        Device.End();
        _hostEnd.Dispose();
        _deviceEnd.Dispose();
        Device.Dispose();
    }

    private static bool HasPtys => OperatingSystem.IsLinux() || OperatingSystem.IsMacOS();

    private static (ILink HostEnd, ILink DeviceEnd, string Where) InMemory(HostClock clock)
    {
        (MemoryLink host, MemoryLink device) = MemoryLink.CreatePair(clock);
        return (host, device, "memory");
    }

    private static (ILink HostEnd, ILink DeviceEnd, string Where) OnPty(HostClock clock)
    {
        PtyHost device = PtyHost.Create(clock);
        try
        {
            LinkOpener opener = new(clock, _ => throw new InvalidOperationException("a pty is no builtin link"));
            return (opener.Open(new PtyLinkSpec(device.Path)), device, device.Path);
        }
        catch (LinkException)
        {
            device.Dispose();
            throw;
        }
    }
}
