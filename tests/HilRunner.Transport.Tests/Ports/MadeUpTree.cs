using HilRunner.Testing;

namespace HilRunner.Transport.Tests.Ports;

/// <summary>A sysfs and a /dev of a machine that is not there, in the layout of Linux.</summary>
internal sealed class MadeUpTree : IDisposable
{
    private readonly TemporaryFolder _folder = TestPaths.NewFolder("tree");
    private readonly string _class;

    public MadeUpTree()
    {
        _class = Directory.CreateDirectory(Path.Combine(SysRoot, "class", "tty")).FullName;
        Directory.CreateDirectory(Path.Combine(DevRoot, "serial", "by-id"));
    }

    public string SysRoot => Path.Combine(_folder.Path, "sys");
    public string DevRoot => Path.Combine(_folder.Path, "dev");

    /// <summary>A USB device with one tty; returns the folder of the USB device.</summary>
    public string AddUsb(string busPath, string tty, string vid, string pid, string? serial, string product, int interfaceNumber)
    {
        string usb = Path.Combine(SysRoot, "devices", "pci0", "usb1", busPath);
        string iface = Path.Combine(usb, $"{busPath}:1.{interfaceNumber}");
        string node = Path.Combine(iface, "tty", tty);
        Directory.CreateDirectory(node);
        Write(usb, "idVendor", vid);
        Write(usb, "idProduct", pid);
        Write(usb, "manufacturer", "Bench works");
        Write(usb, "product", product);
        if (serial is not null) { Write(usb, "serial", serial); }
        Write(iface, "bInterfaceNumber", interfaceNumber.ToString("x2"));
        AddDriver(iface, "bus/usb/drivers/cdc_acm");
        File.CreateSymbolicLink(Path.Combine(node, "device"), "../..");
        File.CreateSymbolicLink(Path.Combine(_class, tty), Path.GetRelativePath(_class, node));
        return usb;
    }

    /// <summary>A port on the board: as recent kernels show it, with devices of the serial core in between.</summary>
    public void AddUart(string tty, int type)
    {
        string hardware = Path.Combine(SysRoot, "devices", "pnp0", "00:04");
        string port = Path.Combine(hardware, "00:04:0", "00:04:0.0");
        string node = Path.Combine(port, "tty", tty);
        Directory.CreateDirectory(node);
        if (!Path.Exists(Path.Combine(hardware, "driver"))) { AddDriver(hardware, "bus/pnp/drivers/serial"); }
        if (!Path.Exists(Path.Combine(port, "driver"))) { AddDriver(port, "bus/serial-base/drivers/port"); }
        Write(node, "type", type.ToString());
        File.CreateSymbolicLink(Path.Combine(node, "device"), "../..");
        File.CreateSymbolicLink(Path.Combine(_class, tty), Path.GetRelativePath(_class, node));
    }

    /// <summary>A console: in the class, but without a device.</summary>
    public void AddConsole(string tty) => Directory.CreateDirectory(Path.Combine(_class, tty));

    public void AddById(string name, string tty) => File.CreateSymbolicLink(Path.Combine(DevRoot, "serial", "by-id", name), "../../" + tty);

    /// <summary>Makes the device node of a port lead to something that can be opened.</summary>
    public void PointNode(string tty, string target) => File.CreateSymbolicLink(Path.Combine(DevRoot, tty), target);

    public void RemoveTty(string tty)
    {
        File.Delete(Path.Combine(_class, tty));
        File.Delete(Path.Combine(DevRoot, tty));
    }

    public void Dispose() => _folder.Dispose();

    private void AddDriver(string device, string driver)
    {
        string folder = Directory.CreateDirectory(Path.Combine(SysRoot, driver)).FullName;
        File.CreateSymbolicLink(Path.Combine(device, "driver"), Path.GetRelativePath(device, folder));
    }

    private static void Write(string folder, string name, string text) => File.WriteAllText(Path.Combine(folder, name), text + "\n");
}
