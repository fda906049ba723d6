using System.Globalization;
using System.IO.Ports;

namespace HilRunner.Transport.Ports;

/// <summary>
/// Lists serial ports from sysfs, with their USB identity. It opens none: opening moves DTR, and many boards reset when it moves.
/// </summary>
/// <param name="sysRoot">Where sysfs is mounted.</param>
/// <param name="devRoot">Where device nodes are.</param>
public sealed class PortLister(string sysRoot = "/sys", string devRoot = "/dev")
{
    /// <summary>Ports with hardware behind them, in natural order of their paths. Systems without sysfs give names only.</summary>
    public IReadOnlyList<PortInfo> List()
    {
        string classFolder = Path.Combine(sysRoot, "class", "tty");
        if (!Directory.Exists(classFolder)) { return OperatingSystem.IsLinux() ? [] : [.. SerialPort.GetPortNames().Select(name => new PortInfo(name, null, null, []))]; }
        ILookup<string, string> byId = ReadByIdNames();
        var ports = new List<PortInfo>();
        foreach (string entry in Directory.EnumerateFileSystemEntries(classFolder))
        {
            string name = Path.GetFileName(entry);
            // Consoles and pseudo-terminals have no device; a legacy port without a UART has type 0 (PORT_UNKNOWN, linux/serial.h).
            if (!Path.Exists(Path.Combine(entry, "device")) || ReadText(Path.Combine(entry, "type")) == "0") { continue; }
            string device = ResolveFolder(Path.Combine(entry, "device"));
            ports.Add(new(Path.Combine(devRoot, name), FindDriver(device), FindUsb(device), [.. byId[name].Order(StringComparer.Ordinal)]));
        }
        return [.. ports.OrderBy(p => p.Path, Comparer<string>.Create(CompareNaturally))];
    }

    private ILookup<string, string> ReadByIdNames()
    {
        string folder = Path.Combine(devRoot, "serial", "by-id");
        if (!Directory.Exists(folder)) { return Array.Empty<string>().ToLookup(n => n); }
        return Directory.EnumerateFileSystemEntries(folder)
            .Select(link => (Link: link, Target: new FileInfo(link).LinkTarget))
            .Where(pair => pair.Target is not null)
            .ToLookup(pair => Path.GetFileName(pair.Target!), pair => pair.Link);
    }

    private string? FindDriver(string device)
    {
        foreach (string folder in Upwards(device))
        {
            string? target = new FileInfo(Path.Combine(folder, "driver")).LinkTarget;
            // The serial core puts devices of its own (bus serial-base) between a port and its driver.
            if (target is not null && !target.Contains("/serial-base/", StringComparison.Ordinal)) { return Path.GetFileName(target); }
        }
        return null;
    }

    private UsbIdentity? FindUsb(string device)
    {
        int? interfaceNumber = null;
        foreach (string folder in Upwards(device))
        {
            interfaceNumber ??= ReadHex(Path.Combine(folder, "bInterfaceNumber"));
            if (ReadHex(Path.Combine(folder, "idVendor")) is { } vendor && ReadHex(Path.Combine(folder, "idProduct")) is { } product)
            {
                return new(vendor, product, ReadText(Path.Combine(folder, "serial")), ReadText(Path.Combine(folder, "manufacturer")),
                    ReadText(Path.Combine(folder, "product")), interfaceNumber);
            }
        }
        return null;
    }

    /// <summary>The folder and its parents, as long as they are devices of this tree.</summary>
    private IEnumerable<string> Upwards(string device)
    {
        string root = ResolveFolder(sysRoot);
        for (string? folder = device; folder is not null && folder.Length > root.Length; folder = Path.GetDirectoryName(folder)) { yield return folder; }
    }

    private static int? ReadHex(string file) =>
        int.TryParse(ReadText(file), NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture, out int value) ? value : null;

    /// <summary>Null when absent, unreadable (a device that goes away while it is read) or empty.</summary>
    private static string? ReadText(string file)
    {
        try
        {
            return File.Exists(file) && File.ReadAllText(file).Trim() is { Length: > 0 } text ? text : null;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException) { return null; }
    }

    /// <summary>The path with every symbolic link on it followed.</summary>
    private static string ResolveFolder(string path)
    {
        string resolved = Path.GetPathRoot(Path.GetFullPath(path))!;
        foreach (string part in Path.GetFullPath(path).Split(Path.DirectorySeparatorChar, StringSplitOptions.RemoveEmptyEntries))
        {
            string next = Path.Combine(resolved, part);
            resolved = new DirectoryInfo(next).ResolveLinkTarget(returnFinalTarget: true)?.FullName is { } target ? ResolveFolder(target) : next;
        }
        return resolved;
    }

    /// <summary>ttyUSB2 before ttyUSB10.</summary>
    private static int CompareNaturally(string a, string b)
    {
        (string nameA, int numberA) = SplitNumber(a);
        (string nameB, int numberB) = SplitNumber(b);
        int byName = string.CompareOrdinal(nameA, nameB);
        return byName != 0 ? byName : numberA.CompareTo(numberB);
    }

    private static (string Name, int Number) SplitNumber(string path)
    {
        string name = path.TrimEnd(['0', '1', '2', '3', '4', '5', '6', '7', '8', '9']);
        return (name, int.TryParse(path.AsSpan(name.Length), NumberStyles.None, CultureInfo.InvariantCulture, out int number) ? number : -1);
    }
}
