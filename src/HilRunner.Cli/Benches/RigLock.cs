using HilRunner.Core.Files;
using HilRunner.Core.Links;
using HilRunner.Core.Rigs;
using HilRunner.Transport.Ports;

namespace HilRunner.Cli.Benches;

/// <summary>
/// Keeps a bench to one call at a time, from before its rig is prepared to after its last run, while the port is closed too: a locked file that the system lets go of with the process. Links that
/// start their own device (a program, the virtual device) share nothing and need none.
/// </summary>
internal sealed class RigLock : IDisposable
{
    private readonly FileStream? _file;

    private RigLock(FileStream? file) => _file = file;

    /// <exception cref="LinkException">Another call is using it.</exception>
    public static RigLock Take(Rig rig) => Take(rig.Device.Link, $"rig {rig.Name}");

    /// <param name="who">As people call it.</param>
    /// <exception cref="LinkException">Another call is using it.</exception>
    public static RigLock Take(LinkSpec link, string who)
    {
        if (PathOf(link) is not { } path) { return new(null); }
        try
        {
            var file = new FileStream(path, FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None, 1);
            if (!OperatingSystem.IsWindows()) { MakeCommon(path); }
            string holder = path + ".who";
            File.WriteAllText(holder, $"process {Environment.ProcessId} since {Composition.Clock.Provider.GetLocalNow():HH:mm:ss}\n");
            if (!OperatingSystem.IsWindows()) { MakeCommon(holder); }
            return new(file);
        }
        catch (IOException) when (File.Exists(path))
        {
            throw new LinkException(LinkFault.Busy, $"{who} ({LastingName(link)}) is in use by another call of hil{Holder(path)}; wait for it to end, or end it");
        }
    }

    /// <summary>The file that is locked for a link; null: nothing that could be shared.</summary>
    public static string? PathOf(LinkSpec link) => LastingName(link) is { } name ? Path.Combine(Path.GetTempPath(), $"hil-rig-{FileHash.Sha256OfText(name)[..16]}.lock") : null;

    /// <summary>The file stays: removing it while another call opens it would let two in.</summary>
    public void Dispose() => _file?.Dispose();

    private static string Holder(string path)
    {
        try
        {
            // A file of its own: one that is locked cannot be read.
            return File.ReadAllText(path + ".who").Trim() is { Length: > 0 } who ? ", " + who : "";
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException) { return ""; }
    }

    /// <summary>Benches are shared: whoever comes next may be another user.</summary>
    [System.Runtime.Versioning.UnsupportedOSPlatform("windows")]
    private static void MakeCommon(string path)
    {
        try { File.SetUnixFileMode(path, UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.GroupRead | UnixFileMode.GroupWrite | UnixFileMode.OtherRead | UnixFileMode.OtherWrite); }
        catch (UnauthorizedAccessException)
        {
            // Made by another user, who has done so.
        }
    }

    /// <summary>One name for a port, however the rig file calls it; null: nothing that could be shared, or that is not there now.</summary>
    public static string? NameOf(LinkSpec link)
    {
        try
        {
            return link switch
            {
                SerialLinkSpec serial => Final(PortSelector.Resolve(serial.Port, new PortLister())),
                PtyLinkSpec pty => Final(pty.Path),
                TcpLinkSpec tcp => $"{tcp.Host}:{tcp.Port}",
                _ => null,
            };
        }
        catch (LinkException) { return null; }
    }

    /// <summary>
    /// One that stays when the port comes and goes: a board with a serial number keeps its lock under whatever path it is plugged in again, and what takes its old path is not locked out.
    /// </summary>
    private static string? LastingName(LinkSpec link) => link switch
    {
        PtyLinkSpec pty => Path.GetFullPath(pty.Path),
        SerialLinkSpec => NameOf(link) is { } path ? new PortLister().List().FirstOrDefault(p => p.Path == path)?.Usb is { Serial: not null } usb ? usb.Selector : path : null,
        _ => NameOf(link),
    };

    /// <summary>Of a port that is not there its name: opening it will say what is wrong.</summary>
    private static string Final(string path) => File.Exists(path) ? new FileInfo(path).ResolveLinkTarget(returnFinalTarget: true)?.FullName ?? Path.GetFullPath(path) : path;
}
