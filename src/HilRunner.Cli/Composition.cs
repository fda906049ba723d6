using System.Reflection;
using HilRunner.Core.Capture;
using HilRunner.Core.Links;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;
using HilRunner.Device;
using HilRunner.Transport.Capture;
using HilRunner.Transport.Decoding;
using HilRunner.Transport.Links;

namespace HilRunner.Cli;

/// <summary>The one place where the real clock and the real parts are chosen.</summary>
internal static class Composition
{
    public static HostClock Clock { get; } = new(TimeProvider.System);

    public static ILinkOpener Links { get; } = new LinkOpener(Clock, spec => BuiltinLink.Open(spec, Clock));

    public static IDeviceFormatFactory Formats { get; } = new DeviceFormatFactory();

    public static ICaptureStore Captures { get; } = new CaptureStore();

    /// <summary>With the commit it was built from, where it was built in a checkout.</summary>
    public static string Version { get; } =
        typeof(Composition).Assembly.GetCustomAttribute<AssemblyInformationalVersionAttribute>()?.InformationalVersion ?? "";

    /// <summary>
    /// How to start this program again as a player: the executable beside this assembly, which is there whoever called it; where
    /// there is none, as in an installed tool, whatever this process was started by.
    /// </summary>
    public static IReadOnlyList<string> PlayerCommandLine
    {
        get
        {
            string assembly = typeof(Composition).Assembly.Location;
            string beside = Path.ChangeExtension(assembly, OperatingSystem.IsWindows() ? ".exe" : null);
            if (File.Exists(beside)) { return [beside, "player"]; }
            string self = Environment.ProcessPath ?? throw new InvalidOperationException("the path of this program is not known");
            return Path.GetFileNameWithoutExtension(self) == "dotnet" ? [self, assembly, "player"] : [self, "player"];
        }
    }

    /// <summary>Reads a rig file and puts another link in its place where one is given.</summary>
    public static Rig ReadRig(string path, string? linkUrl) => WithLink(RigFile.Read(path), linkUrl);

    /// <exception cref="UsageException">The URL cannot be understood.</exception>
    public static Rig WithLink(Rig rig, string? linkUrl)
    {
        if (linkUrl is not null) { rig = rig with { Device = rig.Device with { Link = Parsed(linkUrl, rig.Device.Link) } }; }
        // A model that cannot be used is found before anything is opened.
        if (rig.Device.Link is BuiltinLinkSpec builtin) { BuiltinLink.Check(builtin); }
        return rig;
    }

    private static LinkSpec Parsed(string linkUrl, LinkSpec fromRig)
    {
        try { return LinkUrl.Parse(linkUrl, fromRig); }
        catch (Core.BadInputException fault) { throw new UsageException(fault.Message); }
    }
}
