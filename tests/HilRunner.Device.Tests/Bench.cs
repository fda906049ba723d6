using HilRunner.Core.Links;
using HilRunner.Core.Time;

namespace HilRunner.Device.Tests;

/// <summary>A running device on a scripted link.</summary>
internal sealed class Bench : IDisposable
{
    public Bench(VirtualDeviceOptions options, TimeProvider? time = null)
    {
        HostClock clock = new(time ?? TimeProvider.System);
        Link = new(clock);
        Device = new(options, TestMotion.Model, Link, clock);
        Device.Start();
    }

    public ScriptedLink Link { get; }
    public VirtualDevice Device { get; }

    public void Dispose() => Device.Dispose();
}
