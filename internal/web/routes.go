package web

// routes lists every page. A form posts, and the answer sends the browser to a page to read.
func (s *server) routes() []route {
	return []route{
		{pattern: "GET /{$}", serve: home},
		{pattern: "POST /prefs", serve: setPrefs},
		{pattern: "GET /new", serve: newPage},
		{pattern: "POST /new", serve: newSave},
		{pattern: "GET /repair", serve: repairPage},
		{pattern: "POST /repair", serve: repairSave},
		{pattern: "GET /shop", serve: shopPage},
		{pattern: "POST /shop", serve: shopSave},
		{pattern: "GET /shop/export", serve: exportShop},
		{pattern: "POST /shop/import", serve: importFile, body: maxImport},
		{pattern: "GET /help", serve: helpPage},

		{pattern: "GET /guitar/{id}", serve: guitarPage},
		{pattern: "GET /guitar/{id}/design", serve: designPage},
		{pattern: "POST /guitar/{id}/design", serve: designSave},
		{pattern: "POST /guitar/{id}/design/try", serve: designTry},
		{pattern: "GET /guitar/{id}/step/{step}", serve: stepPage},
		{pattern: "POST /guitar/{id}/step/{step}", serve: stepSave},
		{pattern: "GET /guitar/{id}/strings", serve: stringsPage},
		{pattern: "POST /guitar/{id}/strings", serve: stringsSave},
		{pattern: "GET /guitar/{id}/strings/map", serve: stringsMap},
		{pattern: "GET /guitar/{id}/board", serve: boardPage},
		{pattern: "GET /guitar/{id}/board/clear", serve: boardClear},
		{pattern: "GET /guitar/{id}/setup", serve: setupPage},
		{pattern: "POST /guitar/{id}/undo", serve: undo},
		{pattern: "GET /guitar/{id}/history", serve: historyPage},
		{pattern: "GET /guitar/{id}/paper", serve: paperPage},
		{pattern: "GET /guitar/{id}/export", serve: exportGuitar},
		{pattern: "POST /guitar/{id}/rename", serve: rename},
		{pattern: "POST /guitar/{id}/remove", serve: remove},
		{pattern: "POST /shop/restore/{id}", serve: restore},
		{pattern: "/", serve: lost},
	}
}
