using HilRunner.Core.Capture;
using HilRunner.Core.Links;
using HilRunner.Core.Messages;
using HilRunner.Core.Time;
using HilRunner.Device;
using HilRunner.Transport.Capture;
using HilRunner.Transport.Decoding;

namespace HilRunner.Application;

/// <summary>What every job is given: the clock, what reaches ports and files, and whom it may tell and ask.</summary>
public sealed record JobContext
{
    /// <param name="clock">Of this process.</param>
    /// <param name="person">Told of what happens, and asked where a person must answer.</param>
    /// <param name="version">See <see cref="Version"/>.</param>
    public JobContext(HostClock clock, IOperator person, string version)
    {
        (Clock, Operator, Version) = (clock, person, version);
        Links = RigLink.Opener(clock);
    }

    /// <summary>Of this process: every time of a job is this clock's.</summary>
    public HostClock Clock { get; }

    public IOperator Operator { get; }

    /// <summary>Of the tool, as runs and cases keep it: with the commit it was built from, where that is known.</summary>
    public string Version { get; }

    /// <summary>
    /// How the program is started that owns the port while a run is played: the program and its first arguments.
    /// </summary>
    public IReadOnlyList<string> PlayerCommandLine { get => field ??= PlayerProgram.CommandLine; init; }

    public ILinkOpener Links { get; init; }

    public IDeviceFormatFactory Formats { get; init; } = new DeviceFormatFactory();

    public ICaptureStore Captures { get; init; } = new CaptureStore();

    /// <summary>Now, as files keep it.</summary>
    public DateTimeOffset Now => Clock.Provider.GetUtcNow();

    /// <summary>Now, in nanoseconds since the Unix epoch, as captures count.</summary>
    public HostTime UnixNow => new(Clock.ToUnixNs(Clock.Now));
}
