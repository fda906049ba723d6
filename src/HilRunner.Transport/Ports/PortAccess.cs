using System.Globalization;
using HilRunner.Core.Links;
using HilRunner.Transport.Posix;

namespace HilRunner.Transport.Ports;

/// <summary>Why a device node cannot be used, in words that say what to do.</summary>
internal static class PortAccess
{
    /// <summary>Looks before opening: opening some device nodes acts on the machine (a watchdog starts).</summary>
    /// <exception cref="LinkException">Missing or WrongKind.</exception>
    public static FileStatus Check(string path, PortLister lister)
    {
        Errno error = FileStatus.Of(path, out FileStatus status);
        if (error != Errno.None) { throw Explain(path, error, status, lister); }
        if (status.IsDirectory) { throw WrongKind(path, "a directory"); }
        if (status.IsRegularFile) { throw WrongKind(path, "a plain file"); }
        if (!status.IsCharacterDevice) { throw WrongKind(path, "no character device"); }
        if (status.IsConsole) { throw WrongKind(path, "a console of this machine"); }
        string device = string.Create(CultureInfo.InvariantCulture, $"/sys/dev/char/{status.DeviceMajor}:{status.DeviceMinor}/subsystem");
        string? subsystem = Path.GetFileName(new FileInfo(device).LinkTarget);
        return subsystem is null or "tty" ? status : throw WrongKind(path, $"a device of another kind ({subsystem})");
    }

    public static LinkException WrongKind(string path, string found) =>
        new(LinkFault.WrongKind, $"{path} is {found}; expected a serial port or a pseudo-terminal; `hil ports` lists the ports of this machine");

    public static LinkException Busy(string path)
    {
        string holders = PortHolders.Describe(path);
        string by = holders.Length == 0 ? "another process (of another user, so it cannot be seen which; try `sudo fuser -v`)" : holders;
        return new(LinkFault.Busy, $"{path} is in use by {by}; end it, or give this rig another port");
    }

    public static LinkException Explain(string path, Errno error, FileStatus status, PortLister lister) => error switch
    {
        Errno.ENOENT or Errno.ENOTDIR or Errno.ELOOP => new(LinkFault.Missing,
            $"{path} does not exist; {PortSelector.Describe(lister.List())}; plug the board in, or correct the port in the rig file"),
        Errno.ENXIO or Errno.ENODEV or Errno.EIO => new(LinkFault.Missing,
            $"{path} exists, but no hardware answers behind it ({error}); plug the board in again"),
        Errno.EBUSY => Busy(path),
        Errno.EACCES or Errno.EPERM => new(LinkFault.Denied, $"{path}: permission denied; {Remedy(status)}"),
        _ => new(LinkFault.Unsupported, $"{path} cannot be opened ({error})"),
    };

    private static string Remedy(FileStatus status)
    {
        const int GroupReadWrite = 0x30;
        if ((status.Permissions & GroupReadWrite) != GroupReadWrite)
        {
            string mode = Convert.ToString(status.Permissions, 8);
            return $"its mode is 0{mode}, so not even its group may use it: have the machine's owner add a device rule (udev) that gives it a group and mode 0660";
        }
        string group = GroupName(status.Group);
        return $"it belongs to group {group}; add yourself to group {group}: sudo usermod -aG {group} $USER, then log in again";
    }

    private static string GroupName(uint id)
    {
        string wanted = id.ToString(CultureInfo.InvariantCulture);
        try
        {
            return File.ReadLines("/etc/group").Select(line => line.Split(':')).FirstOrDefault(f => f.Length > 2 && f[2] == wanted)?[0] ?? wanted;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException) { return wanted; }
    }
}
