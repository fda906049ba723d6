using HilRunner.Core.Files;
using HilRunner.Core.Links;
using HilRunner.Core.Rigs;
using HilRunner.Transport.Locks;
using HilRunner.Transport.Ports;

namespace HilRunner.Application.Benches;

/// <summary>
/// Keeps a bench to one call at a time, from before its rig is prepared to after its last run, while the port is closed too: by a
/// lock that the system lets go of with the process, among all users of the machine where they share a folder for locks. Links
/// that start their own device (a program, the virtual device) share nothing and need none.
/// </summary>
internal sealed class RigLock : IDisposable
{
    private readonly IDisposable? _held;

    private RigLock(IDisposable? held) => _held = held;

    /// <exception cref="LinkException">Another call is using it.</exception>
    public static RigLock Take(JobContext context, Rig rig) => Take(context, rig.Device.Link, $"rig {rig.Name}");

    /// <param name="who">As people call it.</param>
    /// <exception cref="LinkException">Another call is using it.</exception>
    public static RigLock Take(JobContext context, LinkSpec link, string who)
    {
        if (LastingName(link) is not { } name) { return new(null); }
        try
        {
            var folder = LockFolder.Find();
            if (folder.IsShared)
            {
                try { return new(Take(context.Clock.Provider, folder, name, who)); }
                catch (Exception fault) when (fault is IOException or UnauthorizedAccessException)
                {
                    context.Operator.Warn($"caution: {who}: no lock could be made in {folder.Path} ({fault.Message})");
                    folder = LockFolder.Own();
                }
            }
            if (SharedLock.IsAvailable)
            {
                context.Operator.Warn(
                    $"caution: {who}: its lock is in {folder.Path}, which only this user's calls see: nothing keeps other users of this machine from it while its port is closed");
            }
            return new(Take(context.Clock.Provider, folder, name, who));
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException)
        {
            context.Operator.Warn(
                $"caution: {who}: {fault.Message}: nothing keeps other calls from it while its port is closed");
            return new(null);
        }
    }

    /// <summary>What calls tell the next one about a link; null: nothing that could be shared.</summary>
    public static SharedNote? NoteOn(LinkSpec link, string about)
    {
        if (KeyOf(link) is not { } key) { return null; }
        try { return new(LockFolder.Find(), $"{about}-{key}"); }
        catch (IOException) { return null; }
    }

    /// <summary>What a link's files are called by; null: nothing that could be shared.</summary>
    public static string? KeyOf(LinkSpec link) => LastingName(link) is { } name ? KeyOf(name) : null;

    public void Dispose() => _held?.Dispose();

    private static string KeyOf(string name) => FileHash.Sha256OfText(name)[..16];

    private static IDisposable Take(TimeProvider clock, LockFolder folder, string name, string who)
    {
        string of = $"rig-{KeyOf(name)}", holder = "";
        if (SharedLock.IsAvailable)
        {
            if (SharedLock.Take(folder, of, clock, out var other) is { } taken) { return taken; }
            holder = $", {other!.Words(clock)}";
        }
        else
        {
            string path = Path.Combine(folder.Path, $"{of}.lock");
            try { return new FileStream(path, FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None, 1); }
            catch (IOException) when (File.Exists(path)) { }
        }
        throw new LinkException(
            LinkFault.Busy, $"{who} ({name}) is in use by another call of hil{holder}; wait for it to end, or end it");
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
